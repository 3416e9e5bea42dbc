package contour

import (
	"context"
	"testing"

	"github.com/paulmach/orb"
)

// A field of 11.2 ha on a grid of 2 m with a saddle, where restarts pay.
func BenchmarkFitAndPeel(b *testing.B) {
	site := siteOn(b, convex, saddle(orb.Point{210, 165}), 5)
	lim := Defaults(5)
	b.ReportAllocs()
	var fit Fitted
	b.Run("fit", func(b *testing.B) {
		for b.Loop() {
			var err error
			if fit, err = Fit(context.Background(), site, lim); err != nil {
				b.Fatal(err)
			}
		}
	})
	b.Run("peel", func(b *testing.B) {
		for b.Loop() {
			if _, err := Peel(context.Background(), site, lim, fit.Layout); err != nil {
				b.Fatal(err)
			}
		}
	})
	b.Run("judge", func(b *testing.B) {
		for b.Loop() {
			Judge(fit.Rows, site.Area, site.Raw, lim)
		}
	})
	b.Run("levels", func(b *testing.B) {
		r, index := regionOf(site.Area)
		m, lv := newMarch(r), levels{f: fit.Field.s, lim: &lim, cut: &ground{site.Area, index}}
		v := m.values(lv.f)
		for b.Loop() {
			lv.rows(m, v, 0)
		}
	})
}

// The equations of 12 ha with knots of 10 m.
func BenchmarkFactor(b *testing.B) {
	m := newBanded(1620, 138)
	src := make([]float64, len(m.a))
	for i := range src {
		src[i] = float64(i*7919%13) / 1000
		if i%139 == 138 {
			src[i] = 10
		}
	}
	for b.Loop() {
		copy(m.a, src)
		if !m.factor() {
			b.Fatal("not definite")
		}
	}
}
