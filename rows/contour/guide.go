package contour

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"github.com/paulmach/orb"

	"hemrow/geo/terrain"
)

// Guide is the curve that the rows of one zone run parallel to.
type Guide struct {
	// Curve is smoothed and runs on straight beyond the area; one that ends
	// where it began is closed.
	Curve orb.LineString
	From  string // what it was made of, in words
	// ServesM is how far to either side rows at constant distance stay within
	// the greatest grade, see [DepthM]; +Inf if that is the whole area.
	ServesM float64
	// First and Last are the outermost rows, in spacings from the guide, left
	// positive; RowsM is the length of all of them.
	First, Last int
	RowsM       float64
}

const (
	// guideStepM is the distance of a guide's vertices before thinning.
	guideStepM = 2
	// guideSigmaM is how far a guide is smoothed along its length (prototyped),
	// and roundSigmaM how far one is whose bends shall serve more rows on their
	// hollow side.
	guideSigmaM = 8
	roundSigmaM = 24
	// guideGrowM is how far beyond the area a contour is looked for, so that
	// one along the border is not lost in pieces (prototyped).
	guideGrowM = 12
	// guideLevels is how many contours are tried, between the quantiles
	// guideTail and 1-guideTail of the heights (prototyped).
	guideLevels = 13
	guideTail   = 0.08
	// guideHeadings is how many straight guides are tried.
	guideHeadings = 12
)

// candidate is a guide that rows may be laid by.
type candidate struct {
	*Curve
	from  string
	gainM float64
}

// levelLines are the longest contours of the heights of a lattice, where it
// knows any, two for each level.
func levelLines(l *terrain.Lattice, shortM float64) (out []terrain.Contour) {
	var zs []float64
	for _, z := range l.Z {
		if z == z {
			zs = append(zs, z)
		}
	}
	if len(zs) == 0 {
		return nil
	}
	slices.Sort(zs)
	for i := range guideLevels {
		q := guideTail + (1-2*guideTail)*float64(i)/(guideLevels-1)
		level := zs[int(q*float64(len(zs)-1))]
		found := l.Contours([]float64{level})
		slices.SortStableFunc(found, func(a, b terrain.Contour) int { return cmp.Compare(lengthM(b.Line), lengthM(a.Line)) })
		for _, c := range found[:min(2, len(found))] {
			if lengthM(c.Line) >= shortM {
				out = append(out, c)
			}
		}
	}
	return out
}

// guideOf smooths a line along its length by sigmaM and lets it run on straight for
// reachM at both ends; nil if nothing is left of it.
func guideOf(line orb.LineString, sigmaM, reachM float64, lim *Limits) *Curve {
	closed := len(line) > 3 && line[0] == line[len(line)-1]
	pts := smoothAlong(resample(line, guideStepM), sigmaM, closed)
	if !closed {
		pts = runOn(pts, reachM, 2*lim.SpacingM)
		slices.Reverse(pts)
		pts = runOn(pts, reachM, 2*lim.SpacingM)
		slices.Reverse(pts)
	}
	return NewCurve(thin(pts, lim.ChordErrM/4))
}

// straightGuide is a guide through p, long enough for all within reachM.
func straightGuide(p orb.Point, headingDeg, reachM float64) *Curve {
	sin, cos := math.Sincos(headingDeg * math.Pi / 180)
	return NewCurve(orb.LineString{
		{p[0] - reachM*sin, p[1] - reachM*cos}, {p[0] + reachM*sin, p[1] + reachM*cos},
	})
}

// resample puts points at equal distances of about stepM along a line.
func resample(line orb.LineString, stepM float64) []orb.Point {
	c := newChain(line)
	if len(c.m) < 2 {
		return nil
	}
	n := max(1, int(math.Round(c.lengthM()/stepM)))
	pts := make([]orb.Point, n+1)
	seg := 0
	for k := range pts {
		pts[k], seg = c.at(c.lengthM()*float64(k)/float64(n), seg)
	}
	return pts
}

// smoothAlong blurs points at equal distances by a bell curve of sigma
// metres along the line. Beyond an end the line goes on turned about its end point,
// which leaves that where it is and a straight line straight.
func smoothAlong(pts []orb.Point, sigmaM float64, closed bool) []orb.Point {
	n := len(pts)
	if n < 3 {
		return pts
	}
	step := distM(pts[0], pts[1])
	if step <= 0 {
		return pts
	}
	at := func(i int) orb.Point {
		switch {
		case closed:
			return pts[((i%(n-1))+n-1)%(n-1)]
		case i < 0:
			p := pts[min(n-1, -i)]
			return orb.Point{2*pts[0][0] - p[0], 2*pts[0][1] - p[1]}
		case i >= n:
			p := pts[max(0, 2*(n-1)-i)]
			return orb.Point{2*pts[n-1][0] - p[0], 2*pts[n-1][1] - p[1]}
		}
		return pts[i]
	}
	reach := int(4 * sigmaM / step)
	w, sum := make([]float64, reach+1), 0.0
	for k := range w {
		u := float64(k) * step / sigmaM
		w[k] = math.Exp(-u * u / 2)
		sum += w[k]
	}
	sum = 2*sum - w[0]
	out := make([]orb.Point, n)
	for i := range out {
		p := at(i)
		x, y := w[0]*p[0], w[0]*p[1]
		for k := 1; k <= reach; k++ {
			p, q := at(i-k), at(i+k)
			x, y = x+w[k]*(p[0]+q[0]), y+w[k]*(p[1]+q[1])
		}
		out[i] = orb.Point{x / sum, y / sum}
	}
	if closed {
		out[n-1] = out[0]
	}
	return out
}

// runOn extends a line straight at its end by reachM, or to where it would come
// nearer than clearM to itself.
func runOn(pts []orb.Point, reachM, clearM float64) []orb.Point {
	c := NewCurve(pts)
	if c == nil {
		return pts
	}
	end, u := pts[len(pts)-1], c.dir[len(c.dir)-1]
	steps := int(math.Ceil(reachM / (clearM / 4)))
	length := reachM
	for k := 4; k <= steps; k++ {
		t := clearM / 4 * float64(k)
		// On a straight line the nearest place is the end itself, at t; a quarter
		// of a step less is room for rounding and for bends.
		if _, d := c.index.NearestM(orb.Point{end[0] + t*u[0], end[1] + t*u[1]}); d < clearM-clearM/16 {
			length = t - clearM
			break
		}
	}
	if length <= 0 {
		return pts
	}
	return append(pts, orb.Point{end[0] + length*u[0], end[1] + length*u[1]})
}

// DepthM is how far from a guide rows at constant distance stay within a grade:
// the least of g l / |m₂ - m₁| over pairs of places of the guide at least
// leastM apart, where l is their distance along it and m₁ and m₂ are the slopes
// across it there. A block of parallel rows of that depth gains (m₂ - m₁) times
// the depth in height between the two, which spread over l is the grade g.
// atM rises; lengths in metres, slopes and grade as ratios. Without such a pair,
// or where slopes are all equal, it is +Inf. Exact where the slope across
// changes evenly along the guide, else an estimate from the guide alone.
// Source: geometry.
func DepthM(atM, slopeRatio []float64, gradeRatio, leastM float64) float64 {
	n := min(len(atM), len(slopeRatio))
	return depthM(atM[:n], slopeRatio[:n], leastM, func(i, j int) float64 { return gradeRatio })
}

// depthM is DepthM where the grade depends on the two places.
func depthM(atM, slopeRatio []float64, leastM float64, grade func(i, j int) float64) float64 {
	least := math.Inf(1)
	for i := range atM {
		for j := range i {
			l, rise := atM[i]-atM[j], math.Abs(slopeRatio[i]-slopeRatio[j])
			if l >= leastM && rise > 0 {
				least = min(least, grade(i, j)*l/rise)
			}
		}
	}
	return least
}

// shortBadM is how long a stretch out of limits may be within a row before the
// row is cut there, and endBadM at its ends: shorter ones are cheaper to accept
// (prototyped).
const (
	shortBadM = 15
	endBadM   = 8
)

// serves is [DepthM] along a guide within the area, on the design terrain, +Inf
// where that is beyond it. The grade of two places is the mean of what it may be
// at each.
func (f *filler) serves(c *Curve) float64 {
	const stepM = 5
	var at, slope, limit []float64
	for i := range c.segments() {
		a, b := c.ends(i)
		n := max(1, int(math.Ceil(c.length[i]/stepM)))
		for k := range n {
			p := along(a, b, float64(k)/float64(n))
			if !f.box.Contains(p) || !f.ground.within(p) {
				continue
			}
			if gx, gy, ok := f.site.Design.Gradient(p); ok {
				at = append(at, c.m[i]+c.length[i]*float64(k)/float64(n))
				slope = append(slope, c.dir[i][0]*gy-c.dir[i][1]*gx)
				limit = append(limit, f.lim.GradeLimitRatio(math.Hypot(gx, gy)))
			}
		}
	}
	// The height is gained over the whole way, on ground of both kinds.
	depth := depthM(at, slope, shortBadM+f.lim.ChordM, func(i, j int) float64 { return (limit[i] + limit[j]) / 2 })
	if depth > f.reach {
		return math.Inf(1)
	}
	return depth
}

// candidates are the guides that may serve the ground left: contours, the lines
// given, and straights.
func (f *filler) candidates() (out []candidate) {
	l := f.restLattice()
	for _, c := range levelLines(&l, f.lim.ShortM) {
		for _, sigma := range [2]float64{guideSigmaM, roundSigmaM} {
			if g := guideOf(c.Line, sigma, f.reach, f.lim); g != nil {
				out = append(out, candidate{Curve: g, from: fmt.Sprintf("contour at %.1f m, smoothed by %g m", c.LevelM, sigma)})
			}
		}
	}
	for i, line := range f.extra {
		if g := guideOf(line, guideSigmaM, f.reach, f.lim); g != nil {
			out = append(out, candidate{Curve: g, from: fmt.Sprintf("line %d as given", i+1)})
		}
	}
	for k := range guideHeadings {
		heading := 180 * float64(k) / guideHeadings
		if g := straightGuide(f.box.Center(), heading, f.reach); g != nil {
			out = append(out, candidate{Curve: g, from: fmt.Sprintf("straight at %.0f degrees", heading)})
		}
	}
	return out
}
