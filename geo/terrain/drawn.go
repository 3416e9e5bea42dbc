package terrain

import (
	"math"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/simplify"
)

// Sizes of a drawing of level lines.
const (
	drawnNodes  = 250  // across the longer side of the box
	drawnLevels = 12   // about, over the heights in the box
	leastStepM  = 0.5  // between nodes
	drawnM      = 0.15 // how far a drawn line may stray, the width of its stroke at 1 : 1000
)

// Drawn is level lines of a surface over a box, for a map: at an interval of 1, 2
// or 5 times a power of ten that makes about a dozen of them, thinned for
// drawing. No heights in the box give none.
func Drawn(s Surface, b orb.Bound) (intervalM float64, lines []Contour) {
	step := max(leastStepM, max(b.Max[0]-b.Min[0], b.Max[1]-b.Min[1])/drawnNodes)
	l := SampleGrid(s, b, step)
	low, high, ok := l.RangeM()
	if !ok || high == low {
		return 0, nil
	}
	intervalM = roundInterval((high - low) / drawnLevels)
	lines = l.Contours(l.Levels(intervalM, 0))
	thin := simplify.DouglasPeucker(drawnM)
	out := lines[:0]
	for _, c := range lines {
		if c.Line = thin.LineString(c.Line); len(c.Line) > 1 {
			out = append(out, c)
		}
	}
	return intervalM, out
}

// roundInterval is the nearest to v of 1, 2 and 5 times a power of ten, by
// their ratio.
func roundInterval(v float64) float64 {
	p := math.Pow(10, math.Floor(math.Log10(v)))
	for _, k := range [...][2]float64{{1, 2}, {2, 5}, {5, 10}} {
		if v/p < math.Sqrt(k[0]*k[1]) {
			return k[0] * p
		}
	}
	return 10 * p
}
