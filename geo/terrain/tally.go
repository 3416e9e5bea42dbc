package terrain

import (
	"math"

	"github.com/paulmach/orb"

	"hemrow/geo"
)

// tally adds up a profile.
type tally struct {
	factor          float64 // ground metres for a plan metre
	plan, ground    geo.Sum
	outside         geo.Sum
	grade, slope    geo.Sum // absolute, times plan length
	climbed         float64 // sideways so far
	lowest, highest Spot
	known           bool
	across          float64 // the greatest side slope, and its chainage
	acrossAtM       float64
	end             orb.Point
}

// add takes in a piece and tells its panel.
func (t *tally) add(c *course, p *piece, pan *panel) {
	pan.planM, pan.chainM = t.plan.Value(), t.ground.Value()
	pan.q[sides].start = t.climbed
	if !p.covered {
		t.skip(c, p, pan)
		return
	}
	half := (p.t1 - p.t0) / 2 * c.lengthM
	k := c.planPer * t.factor
	pan.lengthM = 2 * half * c.planPer
	perPlan, perLength := 1/c.planPer, 1/pan.lengthM
	pan.q[heights] = newCurve(p.zMid-half*(p.rise[0]-p.rise[1]/2+p.rise[2]/3), &p.rise, perPlan, perLength)
	pan.q[sides] = newCurve(t.climbed, &p.side, perPlan, perLength)
	t.climbed = pan.q[sides].at(pan.lengthM)
	r0, r1, r2 := values(&p.rise)
	s0, s1, s2 := values(&p.side)
	pan.groundM = 2 * half * gauss(math.Sqrt(k*k+r0*r0), math.Sqrt(k*k+r1*r1), math.Sqrt(k*k+r2*r2))
	t.plan.Add(pan.lengthM)
	t.ground.Add(pan.groundM)
	t.grade.Add(2 * half * gauss(math.Abs(r0), math.Abs(r1), math.Abs(r2)))
	t.slope.Add(2 * half * gauss(math.Abs(s0), math.Abs(s1), math.Abs(s2)))
	t.peaks(pan)
	t.steepestSide(&p.side, pan, k)
}

// skip adds a piece without terrain to its panel.
func (t *tally) skip(c *course, p *piece, pan *panel) {
	plan := (p.t1 - p.t0) * c.lengthM * c.planPer
	pan.lengthM += plan
	pan.groundM += plan * t.factor
	t.plan.Add(plan)
	t.outside.Add(plan)
	t.ground.Add(plan * t.factor)
}

// peaks looks for the lowest and highest place of a panel.
func (t *tally) peaks(pan *panel) {
	h, l := &pan.q[heights], pan.lengthM
	if !t.known {
		t.lowest = Spot{h.start, pan.chainM}
		t.highest = t.lowest
		t.known = true
	}
	t.look(h.start, 0, pan)
	t.look(h.at(l), l, pan)
	if s, ok := turn(h.slope, h.bend, l); ok {
		t.look(h.at(s), s, pan)
	}
}

// look compares the height z at the plan length s from the start of a panel.
func (t *tally) look(z, s float64, pan *panel) {
	if z < t.lowest.ZM {
		t.lowest = Spot{z, pan.chainM + s/pan.lengthM*pan.groundM}
	}
	if z > t.highest.ZM {
		t.highest = Spot{z, pan.chainM + s/pan.lengthM*pan.groundM}
	}
}

// turn is where between 0 and l the parabola slope s + bend s² turns.
func turn(slope, bend, l float64) (s float64, ok bool) {
	if (slope > 0) == (slope+2*l*bend > 0) { // it rises at both ends, or at neither
		return 0, false
	}
	s = -slope / (2 * bend)
	return s, s > 0 && s < l
}

// steepestSide looks for the greatest side slope of a panel; c is the parabola
// for a metre of the frame, k ground metres to each.
func (t *tally) steepestSide(c *[3]float64, pan *panel, k float64) {
	if math.Abs(c[0])+math.Abs(c[1])+math.Abs(c[2]) <= math.Abs(t.across)*k {
		return // nowhere
	}
	for i, v := range [3]float64{c[0] - c[1] + c[2], c[0], c[0] + c[1] + c[2]} {
		if v /= k; math.Abs(v) > math.Abs(t.across) {
			t.across = v
			t.acrossAtM = pan.chainM + float64(i)/2*pan.groundM
		}
	}
}

// profile is the figures that are added up.
func (t *tally) profile() Profile {
	p := Profile{
		PlanM: t.plan.Value(), GroundM: t.ground.Value(), OutsideM: t.outside.Value(),
		Lowest: t.lowest, Highest: t.highest,
		SideSlopePct: 100 * t.across, SideAtM: t.acrossAtM,
	}
	if !t.known {
		p.OutsideM = p.PlanM // not a rounding less
		return p
	}
	covered := (p.PlanM - p.OutsideM) * t.factor
	p.MeanGradePct = 100 * t.grade.Value() / covered
	p.MeanSideSlopePct = 100 * t.slope.Value() / covered
	return p
}
