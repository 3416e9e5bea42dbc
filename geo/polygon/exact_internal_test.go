package polygon

import (
	"math"
	"math/big"
	"testing"

	"github.com/paulmach/orb"
	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"
)

// orientRational is the determinant in rational numbers.
func orientRational(a, b, c orb.Point) int {
	r := func(x float64) *big.Rat { return new(big.Rat).SetFloat64(x) }
	sub := func(x, y float64) *big.Rat { return new(big.Rat).Sub(r(x), r(y)) }
	l := new(big.Rat).Mul(sub(a[0], c[0]), sub(b[1], c[1]))
	return l.Cmp(new(big.Rat).Mul(sub(a[1], c[1]), sub(b[0], c[0])))
}

func TestOrientIsExact(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		// no coordinate so near to 0 that a product underflows
		plain := func(x float64) float64 {
			if math.Abs(x) < 1e-60 {
				return 0
			}
			return x
		}
		p := func(name string) orb.Point {
			return orb.Point{plain(rapid.Float64Range(-5e4, 5e4).Draw(t, name)), plain(rapid.Float64Range(-5e4, 5e4).Draw(t, name))}
		}
		a, b, c := p("a"), p("b"), p("c")
		if rapid.Bool().Draw(t, "near the line") { // within a few rounding steps of it
			s := rapid.Float64Range(-1, 2).Draw(t, "s")
			c = orb.Point{plain(a[0] + s*(b[0]-a[0])), plain(a[1] + s*(b[1]-a[1]))}
			for range rapid.IntRange(0, 3).Draw(t, "steps") {
				c[1] = plain(math.Nextafter(c[1], math.Inf(1)))
			}
		}
		assert.Equal(t, orientRational(a, b, c), Orient(a, b, c))
		assert.Equal(t, orientRational(a, b, c), orientExact(a, b, c))
		assert.Equal(t, -Orient(a, b, c), Orient(b, a, c))
		assert.Equal(t, Orient(a, b, c), Orient(b, c, a))
	})
	// The grid of Kettner et al., "Classroom examples of robustness problems in
	// geometric computations" (2008), section 4.1: floats get the sides wrong.
	for i := range 64 {
		for j := range 64 {
			c := orb.Point{0.5 + float64(i)*0x1p-53, 0.5 + float64(j)*0x1p-53}
			assert.Equal(t, orientRational(orb.Point{12, 12}, orb.Point{24, 24}, c), Orient(orb.Point{12, 12}, orb.Point{24, 24}, c))
		}
	}
	assert.Zero(t, Orient(orb.Point{math.NaN(), 0}, orb.Point{1, 1}, orb.Point{2, 3}))
}

func TestMeet(t *testing.T) {
	p := func(x, y float64) orb.Point { return orb.Point{x, y} }
	for _, c := range []struct {
		name       string
		a, b, c, d orb.Point
		want       meeting
		at         orb.Point
	}{
		{"crossing", p(0, 0), p(4, 4), p(0, 4), p(4, 0), crossing, p(2, 2)},
		{"apart", p(0, 0), p(4, 4), p(5, 0), p(5, 9), apart, p(0, 0)},
		{"parallel", p(0, 0), p(4, 4), p(0, 1), p(4, 5), apart, p(0, 0)},
		{"end on inside", p(0, 0), p(4, 0), p(2, 0), p(2, 3), touching, p(2, 0)},
		{"end on end", p(0, 0), p(4, 0), p(4, 0), p(2, 3), touching, p(4, 0)},
		{"in line, overlap", p(0, 0), p(4, 4), p(6, 6), p(2, 2), overlap, p(2, 2)},
		{"in line, inside", p(0, 0), p(0, 8), p(0, 2), p(0, 5), overlap, p(0, 2)},
		{"in line, end to end", p(0, 0), p(4, 4), p(6, 6), p(4, 4), touching, p(4, 4)},
		{"in line, apart", p(0, 0), p(4, 4), p(5, 5), p(6, 6), apart, p(0, 0)},
		{"same", p(1, 2), p(3, 4), p(3, 4), p(1, 2), overlap, p(1, 2)},
		{"point on segment", p(0, 0), p(4, 0), p(2, 0), p(2, 0), touching, p(2, 0)},
	} {
		t.Run(c.name, func(t *testing.T) {
			m, at := meet(c.a, c.b, c.c, c.d)
			assert.Equal(t, c.want, m)
			if m != apart {
				assert.Equal(t, c.at, at)
			}
			m, _ = meet(c.d, c.c, c.a, c.b)
			assert.Equal(t, c.want, m, "the other way round")
		})
	}
}

// The index and all pairs find the same events.
func TestEventsByIndexAndByPairs(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(3, 60).Draw(t, "n")
		var v ring
		for i := range n {
			v.pt = append(v.pt, orb.Point{float64(rapid.IntRange(0, 12).Draw(t, "x")), float64(rapid.IntRange(0, 12).Draw(t, "y"))})
			v.src = append(v.src, i)
		}
		v.dropRepeated(0)
		if v.len() < 3 {
			return
		}
		var pairs, found []event
		forPairs(v, func(e event) bool { pairs = append(pairs, e); return true })
		ix := NewIndex(v.pt)
		for i := range v.pt {
			a, b := v.edge(i)
			ix.searchFrom(segBox(a, b), i+1, func(j int) bool {
				if e, ok := v.meets(i, j); ok {
					found = append(found, e)
				}
				return true
			})
		}
		assert.Equal(t, pairs, found)
	})
}

func TestWordsForAll(t *testing.T) {
	for k := range faultKindCount {
		assert.NotEmpty(t, k.String())
	}
	for k := range fixKindCount {
		assert.NotEmpty(t, k.String())
	}
	assert.Equal(t, "unknown fault", FaultKind(99).String())
	assert.Equal(t, "unknown repair", FixKind(-1).String())
}
