package format

import "math"

// NoHeight is the number that surveying and raster software writes for no
// height, unless a file names another; TooHigh is beyond any height in any unit:
// the lowest and highest numbers of a float, about 3.4e38 and 1.8e308, are marks
// for none as well (common practice, no source).
const (
	NoHeight = -9999
	TooHigh  = 1e30
)

// IsNoHeight reports whether a number stands for no height: NaN, NoHeight, or
// beyond TooHigh.
func IsNoHeight(z float64) bool { //unit:the file's
	return math.IsNaN(z) || z == NoHeight || math.Abs(z) > TooHigh
}

// Each calls use for every position of the feature, in the order of its lists.
func (f *Feature) Each(use func(*Coord)) {
	for _, p := range f.Polygons {
		for _, r := range p {
			for i := range r {
				use(&r[i])
			}
		}
	}
	for _, l := range f.Lines {
		for i := range l {
			use(&l[i])
		}
	}
	for i := range f.Points {
		use(&f.Points[i])
	}
}
