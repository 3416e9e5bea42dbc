package markup

import (
	"math"

	"hemrow/geo/format"
)

// Heights that stand for none. Surveying and raster software writes -9999 or
// the lowest numbers of a float, about -3.4e38 and -1.8e308 (common practice, no
// source).
const (
	noHeightM = -9999
	tooHighM  = 1e30
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
	each(f, func(c *format.Coord) {
		switch z := c.Z; {
		case math.IsNaN(z):
			flat++
		case z == noHeightM || math.Abs(z) > tooHighM:
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
		each(f, func(c *format.Coord) { c.Z = math.NaN() })
	}
	return h
}

// each calls do for every position of the feature.
func each(f *format.Feature, do func(*format.Coord)) {
	for _, p := range f.Polygons {
		for _, r := range p {
			for i := range r {
				do(&r[i])
			}
		}
	}
	for _, l := range f.Lines {
		for i := range l {
			do(&l[i])
		}
	}
	for i := range f.Points {
		do(&f.Points[i])
	}
}
