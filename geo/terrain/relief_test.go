package terrain

import (
	"testing"

	"github.com/paulmach/orb"
	"github.com/stretchr/testify/assert"
)

func rectangle(x0, y0, x1, y1 float64) orb.Ring {
	return orb.Ring{{x0, y0}, {x1, y0}, {x1, y1}, {x0, y1}, {x0, y0}}
}

// On a plane the mean height is that of the centroid and every slope the same;
// by hand.
func TestReliefOfAPlane(t *testing.T) {
	g, f := sampled(t, 5, 200, Bilinear, plane)
	r := Relief(g, f, []orb.Polygon{{rectangle(-100, -50, 100, 150)}})
	assert.InDelta(t, plane(0, 50), r.MeanM, 0.02)
	assert.InDelta(t, plane(-100, 150), r.LowestM, 0.5)
	assert.InDelta(t, plane(100, -50), r.HighestM, 0.5)
	assert.InDelta(t, 9.43398, r.MeanSlopePct, 1e-4) // sqrt(0.08² + 0.05²)
	assert.InDelta(t, 9.43398, r.Slope95Pct, 1e-4)
	assert.Equal(t, 1.0, r.CoveredRatio)
	assert.InDelta(t, 5, r.StepM, 0.01)
	assert.InDelta(t, 1600, r.Samples, 41)
}

// A tenth of the ground is a bank of 50 %, the rest is level: the mean slope is
// 5 % and 95 % of the area stays below 50 %. By hand. The hole and what lies
// off the terrain are counted by their areas.
func TestReliefCounts(t *testing.T) {
	s := analytic{
		z: func(x, _ float64) (float64, float64, float64) {
			if x > 900 {
				return 50, 0.5, 0
			}
			return 0, 0, 0
		},
		covers: func(x, _ float64) bool { return x >= 0 },
	}
	f := frameAt(t, 9.4, 46)
	r := Relief(s, f, []orb.Polygon{{rectangle(0, 0, 1000, 1000)}})
	assert.InDelta(t, 5, r.MeanSlopePct, 1e-9)
	assert.InDelta(t, 50, r.Slope95Pct, 1e-9)
	r = Relief(s, f, []orb.Polygon{{rectangle(-100, 0, 90, 100)}, {rectangle(0, 200, 10, 300)}})
	assert.InDelta(t, 0.5, r.CoveredRatio, 0.03)
	assert.Zero(t, r.MeanSlopePct)
	whole := Relief(s, f, []orb.Polygon{{rectangle(0, 0, 100, 100)}})
	holed := Relief(s, f, []orb.Polygon{{rectangle(0, 0, 100, 100), rectangle(20, 20, 80, 80)}})
	assert.InDelta(t, 0.64*10000/holed.StepM/holed.StepM, holed.Samples, 100)
	assert.Less(t, holed.StepM, whole.StepM)
}

func TestReliefIsBounded(t *testing.T) {
	s := analytic{z: func(_, _ float64) (float64, float64, float64) { return 1, 0, 0 }}
	f := frameAt(t, 9.4, 46)
	big := Relief(s, f, []orb.Polygon{{rectangle(0, 0, 20_000, 20_000)}})
	assert.InDelta(t, mostSamples, big.Samples, 2000)
	small := Relief(s, f, []orb.Polygon{{rectangle(0, 0, 3, 2)}})
	assert.InDelta(t, fewestSamples, small.Samples, 80)
	for _, none := range [][]orb.Polygon{nil, {{}}, {{{{0, 0}, {1, 1}, {0, 0}}}}} {
		assert.Equal(t, Ground{}, Relief(s, f, none))
	}
}
