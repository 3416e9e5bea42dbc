package contour

import (
	"context"
	"math"
	"testing"

	"github.com/paulmach/orb"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hemrow/geo"
)

// quad is a field of 2.1 ha.
var quad = orb.Polygon{{{10, 15}, {150, 0}, {170, 135}, {20, 150}, {10, 15}}}

// fitOn fits one field to a formula without smoothing.
func fitOn(t testing.TB, area orb.Polygon, f geo.Surface, lim Limits) Fitted {
	t.Helper()
	fit, err := Fit(context.Background(), Site{Area: orb.MultiPolygon{area}, Design: f, Raw: f}, lim)
	require.NoError(t, err)
	require.NotEmpty(t, fit.Rows)
	requireSound(t, fit.Layout, orb.MultiPolygon{area}, lim)
	return fit
}

// bow is how far a line strays from its own chord.
func bow(line orb.LineString) (worst float64) {
	a, b := line[0], line[len(line)-1]
	d := distM(a, b)
	for _, p := range line {
		worst = max(worst, math.Abs((b[0]-a[0])*(p[1]-a[1])-(b[1]-a[1])*(p[0]-a[0]))/d)
	}
	return worst
}

// spacings calls visit with the spacing across the rows all over the field, by
// the field's own slope.
func spacings(fit Fitted, lim Limits) (lo, hi float64) {
	lo = math.Inf(1)
	for _, r := range fit.Rows {
		for _, p := range r.Line {
			e, n := fit.Field.Slope(p)
			s := lim.SpacingM / math.Hypot(e, n)
			lo, hi = min(lo, s), max(hi, s)
		}
	}
	return lo, hi
}

// The gates are those of the study that the method comes from; the exact
// answers are plane geometry: contours of a plane are straight and level.
func TestPlaneGivesStraightLevelRows(t *testing.T) {
	for _, bearing := range []float64{37, 0, 90, 211} {
		ground, lim := plane(0.06, bearing), Defaults(5)
		fit := fitOn(t, quad, ground, lim)
		for _, r := range fit.Rows {
			var lo, hi float64 = math.Inf(1), math.Inf(-1)
			for _, p := range r.Line {
				z, _ := ground.Height(p)
				lo, hi = min(lo, z), max(hi, z)
			}
			assert.Less(t, hi-lo, 0.001, "a row is level")
			assert.Less(t, bow(r.Line), 0.001, "and straight")
			a, b := r.Line[0], r.Line[len(r.Line)-1]
			if distM(a, b) > 30 {
				assert.Less(t, geo.BearingOf(b[0]-a[0], b[1]-a[1]).FoldedDiffDeg(geo.NewBearing(bearing+90)), 0.002)
			}
		}
		lo, hi := spacings(fit, lim)
		assert.InDelta(t, 5, lo, 0.001)
		assert.InDelta(t, 5, hi, 0.001)
		assert.Equal(t, 1.0, fit.Score.OnGradeRatio)
		assert.InDelta(t, 1, fit.Score.CoverRatio, 0.02, "length times spacing is the area")
	}
}

// Contours of a cone and of a paraboloid are circles about the apex.
func TestRoundGroundGivesArcs(t *testing.T) {
	apex := orb.Point{-120, -90} // 150 m from the nearest corner
	for name, ground := range map[string]shape{"cone": cone(0.08, apex), "paraboloid": bowl(0.0003, apex)} {
		lim := Defaults(5)
		fit := fitOn(t, quad, ground, lim)
		for _, r := range fit.Rows {
			lo, hi := math.Inf(1), 0.0
			for _, p := range r.Line {
				d := distM(apex, p)
				lo, hi = min(lo, d), max(hi, d)
			}
			assert.Less(t, hi-lo, 0.05, name)
		}
		lo, hi := spacings(fit, lim)
		assert.InDelta(t, 5, lo, 0.01, name)
		assert.InDelta(t, 5, hi, 0.01, name)
	}
}

// Across a turning line, where the ground is level and its slope turns about,
// rows along the axis of a trough run straight, without a crease.
func TestTroughHasNoCrease(t *testing.T) {
	fit := fitOn(t, quad, trough(0.002, 20, orb.Point{85, 75}), Defaults(5))
	for _, r := range fit.Rows {
		assert.Less(t, bow(r.Line), 0.001)
		a, b := r.Line[0], r.Line[len(r.Line)-1]
		if distM(a, b) > 30 {
			assert.Less(t, geo.BearingOf(b[0]-a[0], b[1]-a[1]).FoldedDiffDeg(20), 0.01)
		}
	}
}

func TestFlatGroundGivesStraightRows(t *testing.T) {
	lim := Defaults(5)
	fit := fitOn(t, quad, plane(0, 0), lim)
	for _, r := range fit.Rows {
		assert.Less(t, bow(r.Line), 0.01)
	}
	lo, hi := spacings(fit, lim)
	assert.InDelta(t, 5, lo, 0.01)
	assert.InDelta(t, 5, hi, 0.01)
}

// Upside down, and ten times as steep with ten times the limit, the ground asks
// for the same rows.
func TestRowsDoNotKnowUpFromDown(t *testing.T) {
	ground, lim := nose(0.055, 4, 280, 90), Defaults(5)
	want := fitOn(t, quad, ground, lim)
	scaled := func(by float64) shape {
		return func(x, y float64) (z, gx, gy float64) {
			z, gx, gy = ground(x, y)
			return by * z, by * gx, by * gy
		}
	}
	steep := lim
	steep.GradeRatio *= 10
	for name, got := range map[string]Fitted{
		"upside down": fitOn(t, quad, scaled(-1), lim),
		"ten times":   fitOn(t, quad, scaled(10), steep),
	} {
		requireSameRows(t, want.Rows, got.Rows, 1e-4, name)
	}
}

// requireSameRows compares rows whichever way they run and are numbered.
func requireSameRows(t testing.TB, want, got []Row, tolM float64, name string) {
	t.Helper()
	require.Len(t, got, len(want), name)
	for _, w := range want {
		near := math.Inf(1)
		a, b := w.Line[0], w.Line[len(w.Line)-1]
		for _, g := range got {
			c, d := g.Line[0], g.Line[len(g.Line)-1]
			near = min(near, max(distM(a, c), distM(b, d)), max(distM(a, d), distM(b, c)))
		}
		require.Less(t, near, tolM, name)
	}
}

// The field and the ground turned and moved together give the rows turned and
// moved; the knots of the field do not turn, which may cost 5 cm.
func TestRowsTurnWithTheGround(t *testing.T) {
	apex := orb.Point{-120, -90}
	sin, cos := math.Sincos(30 * math.Pi / 180)
	turn := func(p orb.Point) orb.Point {
		return orb.Point{1000 + cos*p[0] - sin*p[1], -500 + sin*p[0] + cos*p[1]}
	}
	var ring orb.Ring
	for _, p := range quad[0] {
		ring = append(ring, turn(p))
	}
	a := fitOn(t, quad, cone(0.08, apex), Defaults(5))
	b := fitOn(t, orb.Polygon{ring}, cone(0.08, turn(apex)), Defaults(5))
	assert.InDelta(t, a.Score.GoodRatio, b.Score.GoodRatio, 0.02)
	for _, r := range b.Rows {
		lo, hi := math.Inf(1), 0.0
		for _, p := range r.Line {
			d := distM(turn(apex), p)
			lo, hi = min(lo, d), max(hi, d)
		}
		assert.Less(t, hi-lo, 0.05)
	}
}
