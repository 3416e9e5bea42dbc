package geo

import "github.com/paulmach/orb"

// Surface is terrain in a frame. Height and Gradient answer ok = false outside what
// was surveyed; nothing is extrapolated.
type Surface interface {
	// Height is the height in metres at p.
	Height(p orb.Point) (zM float64, ok bool)
	// Gradient is the slope at p as ratios, rise per metre east and north.
	Gradient(p orb.Point) (eastRatio, northRatio float64, ok bool)
	// Breaks adds to dst the shares 0 < t < 1, rising, at which the formula of
	// the surface changes along the straight segment ab: borders of cells,
	// edges of triangles, and where coverage begins or ends.
	Breaks(a, b orb.Point, dst []float64) []float64 //unit:shares of the segment
	// Bounds is a box that holds all that is covered.
	Bounds() orb.Bound
	// SpacingM is the typical distance between the data.
	SpacingM() float64
	// Describe says in words how heights are found.
	Describe() string
}
