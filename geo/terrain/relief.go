package terrain

import (
	"math"
	"slices"

	"github.com/paulmach/orb"

	"hemrow/geo"
	"hemrow/geo/polygon"
)

// Ground is the lie of the land in an outline, from samples.
type Ground struct {
	LowestM, HighestM, MeanM float64
	// Slopes of the ground in percent: the mean, and what 95 % of the area
	// stays below.
	MeanSlopePct, Slope95Pct float64
	// CoveredRatio is the share of the outline's area with terrain, 0 to 1.
	CoveredRatio float64
	// Samples is their number, of which the covered share counted; StepM is
	// the distance between them.
	Samples int
	StepM   float64
}

const (
	// mostSamples bounds the work for one outline: some 10 ms.
	mostSamples = 250_000
	// fewestSamples keeps the 95 % slope of a small outline from resting on a
	// handful.
	fewestSamples = 1000
)

// Relief samples the surface over polygons of the frame, on a net of squares
// as wide as the data are apart, or such that between 1,000 and 250,000
// samples fall inside. All figures are 0 if nothing is covered.
//
// The share covered and the means are those of the samples: off by about the
// perimeter times half a step over the area.
func Relief(s Surface, f geo.Frame, polys []orb.Polygon) Ground {
	area := 0.0
	for _, p := range polys {
		area += polygon.AreaM2(p)
	}
	if !(area > 0) || math.IsInf(area, 1) {
		return Ground{}
	}
	g := Ground{StepM: s.SpacingM()}
	g.StepM = max(math.Sqrt(area/mostSamples), min(math.Sqrt(area/fewestSamples), g.StepM))
	r := relief{from: samplerOf(s), g: &g, k: f.GroundFactor()}
	for _, p := range polys {
		r.scan(p)
	}
	if n := len(r.slopes); n > 0 {
		slices.Sort(r.slopes)
		var sum geo.Sum
		for _, v := range r.slopes {
			sum.Add(v)
		}
		g.MeanM = r.z.Value() / float64(n)
		g.MeanSlopePct = 100 * sum.Value() / float64(n)
		g.Slope95Pct = 100 * r.slopes[(n*95+99)/100-1]
		g.CoveredRatio = float64(n) / float64(g.Samples)
	}
	return g
}

type relief struct {
	from   sampler
	g      *Ground
	k      float64 // ground metres for a metre of the frame
	z      geo.Sum
	slopes []float64
	cuts   []float64
}

// scan samples the middles of the squares that lie in the polygon, line by
// line between crossings of its edges.
func (r *relief) scan(p orb.Polygon) {
	if len(p) == 0 {
		return
	}
	b, step := p.Bound(), r.g.StepM
	rows := int(math.Ceil((b.Max[1] - b.Min[1]) / step))
	for j := range rows {
		y := b.Min[1] + (float64(j)+0.5)*step
		r.cuts = crossings(p, y, r.cuts[:0])
		for k := 0; k+1 < len(r.cuts); k += 2 {
			first := math.Ceil((r.cuts[k]-b.Min[0])/step - 0.5)
			last := math.Floor((r.cuts[k+1]-b.Min[0])/step - 0.5)
			for i := range max(0, int(last-first)+1) {
				r.sample(orb.Point{b.Min[0] + (first+float64(i)+0.5)*step, y})
			}
		}
	}
}

// crossings adds the places where the level line at y meets the rings.
func crossings(p orb.Polygon, y float64, xs []float64) []float64 {
	for _, ring := range p {
		for i := range ring {
			a, b := ring[i], ring[(i+1)%len(ring)]
			if (a[1] <= y) != (b[1] <= y) {
				xs = append(xs, a[0]+(y-a[1])/(b[1]-a[1])*(b[0]-a[0]))
			}
		}
	}
	slices.Sort(xs)
	return xs
}

func (r *relief) sample(p orb.Point) {
	g := r.g
	g.Samples++
	z, gx, gy, ok := r.from.sample(p[0], p[1])
	if !ok {
		return
	}
	if len(r.slopes) == 0 {
		g.LowestM, g.HighestM = z, z
	}
	g.LowestM, g.HighestM = min(g.LowestM, z), max(g.HighestM, z)
	r.z.Add(z)
	r.slopes = append(r.slopes, math.Hypot(gx, gy)/r.k)
}
