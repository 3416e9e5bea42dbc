package rows

import (
	"cmp"
	"context"
	"math"
	"slices"
	"sync"

	"github.com/paulmach/orb"

	"hemrow/geo"
)

// choice is a heading and the place of row one, as its distance across the
// rows from the outermost point of the outline.
type choice struct {
	heading geo.Bearing
	offset  float64
}

// headings lists what a spec lets the search try, in the order that settles
// ties: whole steps from north on, then along each long edge of the outline.
func (st *site) headings() []geo.Bearing {
	h := st.spec.Heading
	switch h.Mode {
	case HeadingFixed:
		return []geo.Bearing{h.Bearing.Fold()}
	case HeadingLongestEdge:
		return []geo.Bearing{st.edgeHeading(st.longestEdge())}
	case HeadingEdge:
		return []geo.Bearing{st.edgeHeading(h.Edge - 1)}
	}
	n := int(math.Round(180 / h.StepDeg))
	hs := make([]geo.Bearing, 0, n+8)
	for i := range n {
		hs = append(hs, geo.Bearing(180*float64(i)/float64(n)))
	}
	return st.addEdgeHeadings(hs)
}

// mostEdgeHeadings and sameHeadingDeg keep the search of an outline with
// hundreds of edges, a smooth curve say, to the directions that stand out.
const (
	mostEdgeHeadings = 24
	sameHeadingDeg   = 0.1
)

// addEdgeHeadings appends the directions of the longest edges, those at least a
// quarter of the longest, the longest first; of directions that are nearly the
// same, that of the longest edge.
func (st *site) addEdgeHeadings(hs []geo.Bearing) []geo.Bearing {
	type side struct {
		edge int
		d2   float64
	}
	sides := make([]side, st.outer)
	for i, e := range st.edges[:st.outer] {
		dx, dy := e.b[0]-e.a[0], e.b[1]-e.a[1]
		sides[i] = side{i, dx*dx + dy*dy}
	}
	slices.SortStableFunc(sides, func(a, b side) int { return cmp.Compare(b.d2, a.d2) })
	from := len(hs)
	for _, s := range sides {
		if s.d2 < sides[0].d2/16 || len(hs)-from == mostEdgeHeadings {
			break
		}
		h := st.edgeHeading(s.edge)
		if !slices.ContainsFunc(hs[from:], func(k geo.Bearing) bool { return h.FoldedDiffDeg(k) < sameHeadingDeg }) {
			hs = append(hs, h)
		}
	}
	return hs
}

// offsets lists the places of row one to try for a heading: flush with the
// open ground on either side, which wins ties, then evenly over one spacing. vmin is the
// outermost point of the outline; lo and hi bound the open ground.
func (st *site) offsets(buf []float64, vmin, lo, hi float64, empty bool) []float64 {
	f, s := st.spec.FirstRow, st.spec.SpacingM
	if !f.Best {
		return append(buf, f.OffsetM)
	}
	if empty { // nothing fits anywhere; any place will do
		lo, hi = vmin, vmin
	}
	for _, v := range [2]float64{lo + countMargin, hi - countMargin} {
		d := math.Mod(v-vmin, s)
		if d < 0 {
			d += s
		}
		buf = append(buf, d)
	}
	for j := range f.Steps {
		buf = append(buf, s*float64(j)/float64(f.Steps))
	}
	return buf
}

// rowsWithin is the number of rows from offset on that fit a block reaching
// across from vmin to vmax.
func rowsWithin(vmin, vmax, offset, spacing float64) int {
	return max(0, int(math.Floor((vmax-vmin-offset)/spacing))+1)
}

// mostRows guards memory: a layout of more rows than this is a mistake in the
// spacing, not an orchard.
const mostRows = 1_000_000

// worthStep is the step to which worths are rounded before they are compared:
// 1 mm of row. Choices that differ by rounding alone are equal, so that the
// order settles them alike on every processor.
const worthStep = 1e-3

// searcher finds the best choice for one site after another and keeps its
// memory between them.
type searcher struct {
	hands     []hand // one for each goroutine
	thin      site   // what is counted instead of an outline of many vertices
	table     []bounded
	byBearing []int
	order     []int
}

// hand is what one goroutine counts and clips with.
type hand struct {
	count counter
	clip  clipper
	offs  []float64
}

// bounded is a choice with the upper bound on its worth, then the worth.
type bounded struct {
	choice
	bound, worth float64
}

// search finds the choice of the greatest worth; among equals the first in
// order. It counts every choice cheaply, then clips exactly only those whose
// bound reaches the best found so far, so the answer is that of clipping all.
// It does not depend on the number of workers.
func (s *searcher) search(ctx context.Context, st *site, headings []geo.Bearing, workers int) (choice, error) {
	// waking a goroutine costs about as much as counting a hundred choices
	choices := len(headings) * (st.spec.FirstRow.Steps + 2)
	workers = max(1, min(workers, len(headings)/8, choices/1000))
	for len(s.hands) < workers {
		s.hands = append(s.hands, hand{})
	}
	s.boundAll(ctx, st.coarse(&s.thin), headings, workers)
	if err := ctx.Err(); err != nil {
		return choice{}, err
	}
	s.order = s.order[:0]
	top := 0
	for i := range s.table {
		if s.table[i].bound > s.table[top].bound {
			top = i
		}
	}
	s.clipSome(st, []int{top}, workers)
	best := top
	for i := range s.table {
		if i != top && s.table[i].bound >= s.table[best].worth-worthStep {
			s.order = append(s.order, i)
		}
	}
	slices.SortStableFunc(s.order, func(a, b int) int { return cmp.Compare(s.table[b].bound, s.table[a].bound) })
	for next := 0; next < len(s.order); next += workers {
		some := s.order[next:min(next+workers, len(s.order))]
		if s.table[some[0]].bound < s.table[best].worth-worthStep {
			break
		}
		if err := ctx.Err(); err != nil {
			return choice{}, err
		}
		s.clipSome(st, some, workers)
		for _, i := range some {
			if w, b := s.table[i].worth, s.table[best].worth; w > b || (w == b && i < best) {
				best = i
			}
		}
	}
	return s.table[best].choice, nil
}

// clipSome finds the exact worth of a few choices, one for each worker at most.
func (s *searcher) clipSome(st *site, some []int, workers int) {
	share(min(workers, len(some)), func(w int) {
		t := &s.table[some[w]]
		t.worth = st.exactWorth(&s.hands[w].clip, t.choice, st.spec.valuer())
	})
}

// share runs do(0) to do(n-1) side by side, one of them here.
func share(n int, do func(w int)) {
	var wg sync.WaitGroup
	for w := 1; w < n; w++ {
		wg.Go(func() { do(w) })
	}
	if n > 0 {
		do(0)
	}
	wg.Wait()
}

// boundAll counts every choice. The table is in the order of headings and
// their offsets; the work goes by bearing, since neighbours mostly share their
// division into sides and headlands, and is divided among workers.
func (s *searcher) boundAll(ctx context.Context, st *site, headings []geo.Bearing, workers int) {
	st.corners() // found once, before others look
	s.byBearing = s.byBearing[:0]
	for i := range headings {
		s.byBearing = append(s.byBearing, i)
	}
	if !slices.IsSorted(headings) {
		slices.SortStableFunc(s.byBearing, func(a, b int) int { return cmp.Compare(headings[a], headings[b]) })
	}
	each := 1
	if st.spec.FirstRow.Best {
		each = st.spec.FirstRow.Steps + 2
	}
	s.table = append(s.table[:0], make([]bounded, each*len(headings))...)
	share(workers, func(w int) {
		lo, hi := len(headings)*w/workers, len(headings)*(w+1)/workers
		s.boundSome(ctx, st, headings, s.byBearing[lo:hi], &s.hands[w])
	})
}

// mostCounted is the number of edges up to which finding the open ground's
// boundary (quadratic) is cheaper than clipping every choice.
const mostCounted = 1000

// boundSome counts the choices of some of the headings.
func (s *searcher) boundSome(ctx context.Context, st *site, headings []geo.Bearing, some []int, h *hand) {
	worth := st.spec.valuer()
	each := len(s.table) / len(headings)
	counted := len(st.edges) <= mostCounted
	h.count.in.st = nil // a site of the same address may be another
	for _, i := range some {
		if ctx.Err() != nil {
			return
		}
		x := axesOf(headings[i])
		vmin, vmax := st.across(x)
		lo, hi, empty := vmin, vmax, false
		if counted {
			h.count.turn(st, x)
			if st.spec.FirstRow.Best {
				lo, hi, empty = h.count.extent()
				// thinned ground reaches at most this much too far
				lo, hi = lo+2*st.thinM, hi-2*st.thinM
			}
		}
		h.offs = st.offsets(h.offs[:0], vmin, lo, hi, empty)
		for k, off := range h.offs {
			b := math.Inf(1)
			if counted {
				g := grid{x, vmin + off, st.spec.SpacingM}
				b = h.count.bound(g, rowsWithin(vmin, vmax, off, g.spacing), worth)
			}
			s.table[each*i+k] = bounded{choice: choice{headings[i], off}, bound: b}
		}
	}
}

// across is the extent of the outer ring across the rows.
func (st *site) across(x axes) (vmin, vmax float64) {
	vmin, vmax = math.Inf(1), math.Inf(-1)
	for _, p := range st.corners() {
		_, v := x.uv(p)
		if v < vmin {
			vmin = v
		}
		if v > vmax {
			vmax = v
		}
	}
	return vmin, vmax
}

// corners are the vertices of the outer ring that can be outermost: those of
// its convex hull (Andrew's monotone chain, 1979), found once.
func (st *site) corners() []orb.Point {
	if len(st.hull) > 0 {
		return st.hull
	}
	all := make([]orb.Point, st.outer)
	for i, e := range st.edges[:st.outer] {
		all[i] = e.a
	}
	slices.SortFunc(all, func(a, b orb.Point) int {
		return cmp.Or(cmp.Compare(a[0], b[0]), cmp.Compare(a[1], b[1]))
	})
	for pass := range 2 { // the lower side, then the upper
		from := len(st.hull)
		for i := range all {
			p := all[i]
			if pass == 1 {
				p = all[len(all)-1-i]
			}
			for n := len(st.hull); n-from >= 2 && turnsRight(st.hull[n-2], st.hull[n-1], p); n = len(st.hull) {
				st.hull = st.hull[:n-1]
			}
			st.hull = append(st.hull, p)
		}
	}
	return st.hull
}

// turnsRight reports whether b lies clearly left of the way from a to c, and so
// inside the hull; a vertex in doubt stays and does no harm.
func turnsRight(a, b, c orb.Point) bool {
	return (b[0]-a[0])*(c[1]-a[1])-(b[1]-a[1])*(c[0]-a[0]) < -geo.CoincidentM*geo.CoincidentM
}

// valuer is a spec's Worth: its own, or the default, whose two figures the
// counting loop uses without a call.
type valuer struct {
	own           Worth
	costM, leastM float64
	longestM      float64 // +Inf without limit
}

func (s *Spec) valuer() valuer {
	v := valuer{s.Worth, s.PieceCostM, max(s.ShortestM, s.PieceCostM), s.LongestM}
	if s.LongestM == 0 {
		v.longestM = math.Inf(1)
	}
	return v
}

// most is the most that openM of row can be worth: whole or, by default, cut
// into pieces of the longest run, k of them full, with or without the rest.
func (w valuer) most(openM float64) float64 {
	if w.own != nil || openM <= w.longestM {
		return w.of(openM)
	}
	k := math.Floor(openM / w.longestM)
	return max(k*(w.longestM-w.costM), openM-(k+1)*w.costM)
}

func (w valuer) of(pieceM float64) float64 {
	switch {
	case w.own != nil:
		return w.own(pieceM)
	case pieceM < w.leastM:
		return 0
	}
	return pieceM - w.costM
}

// exactWorth is the worth of a choice by the exact clip and its cross alleys.
func (st *site) exactWorth(c *clipper, ch choice, worth valuer) float64 {
	var sum float64
	for _, b := range st.pieces(c, ch).bits {
		sum += worth.of(b.u1 - b.u0)
	}
	return math.Round(sum/worthStep) * worthStep
}

// cutting is the outcome of clipping one choice.
type cutting struct {
	grid
	choice
	bits      []bit     // pieces worth laying, by row and along it
	alleys    []float64 // along-row coordinates where cross alleys start
	leftCount int       // pieces left out as too short
	leftM     float64
	divided   int // pieces that cross alleys divided
}

// line is a bit in the frame.
func (c *cutting) line(b bit) orb.LineString {
	v := c.rowV(b.row)
	return orb.LineString{c.xy(b.u0, v), c.xy(b.u1, v)}
}

// pieces clips a choice, divides long pieces by cross alleys and leaves out
// short ones. bits are valid until the clipper's next use.
func (st *site) pieces(c *clipper, ch choice) cutting {
	x := axesOf(ch.heading)
	vmin, vmax := c.turn(st, x)
	cut := cutting{grid: grid{x, vmin + ch.offset, st.spec.SpacingM}, choice: ch}
	bits := c.clip(cut.grid, rowsWithin(vmin, vmax, ch.offset, cut.spacing))
	if st.spec.LongestM > 0 {
		cut.alleys = alleys(bits, st.spec.LongestM, st.spec.CrossAlleyM, st.spec.ShortestM)
		bits, cut.divided = divide(bits, cut.alleys, st.spec.CrossAlleyM)
	}
	kept := bits[:0]
	for _, b := range bits {
		if b.u1-b.u0 < st.spec.ShortestM {
			cut.leftCount++
			cut.leftM += b.u1 - b.u0
			continue
		}
		kept = append(kept, b)
	}
	cut.bits = kept
	return cut
}
