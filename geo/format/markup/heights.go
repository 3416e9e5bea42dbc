package markup

import (
	"math"

	"hemrow/geo/format"
)

// Heights counts the heights of a feature.
type Heights struct {
	Known   int
	Missing int // where others have one, or marked as none
	Zero    int // exactly 0 where there is no other: taken as not known
}

// Settle takes out heights that stand for none. A height of exactly 0 is what
// programs write for none: it stands only beside other heights.
func Settle(f *format.Feature) Heights {
	var h Heights
	marked, flat := 0, 0
	f.Each(func(c *format.Coord) {
		switch z := c.Z; {
		case math.IsNaN(z):
			flat++
		case format.IsNoHeight(z):
			c.Z = math.NaN()
			marked++
		case z == 0:
			h.Zero++
		default:
			h.Known++
		}
	})
	h.Missing = marked
	if h.Known > 0 {
		h.Known += h.Zero
		h.Zero = 0
		h.Missing += flat
	} else if h.Zero > 0 {
		f.Each(func(c *format.Coord) { c.Z = math.NaN() })
	}
	return h
}
