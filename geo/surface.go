package geo

import "github.com/paulmach/orb"

// Surface is terrain in a frame. Both methods answer ok = false outside what
// was surveyed; nothing is extrapolated.
type Surface interface {
	// Height is the height in metres at p.
	Height(p orb.Point) (zM float64, ok bool)
	// Gradient is the slope at p as ratios, rise per metre east and north.
	Gradient(p orb.Point) (eastRatio, northRatio float64, ok bool)
}
