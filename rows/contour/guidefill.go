package contour

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"slices"

	"github.com/paulmach/orb"

	"hemrow/geo"
	"hemrow/geo/polygon"
	"hemrow/geo/terrain"
)

// Guided is rows that run at exact distances from guides, one zone for each.
type Guided struct {
	Layout
	Guides []Guide // by zone
}

const (
	// mostGuides is how many guides one area may have for its grade, and as many
	// to fill it (prototyped: more never paid), and restStepM the grid on which ground without rows is found.
	mostGuides = 6
	restStepM  = 4
	// Guides are compared by every fifth row, and the best of those, shortlist
	// of them, by every other.
	roughly, closely = 5, 2
	shortlist        = 12
	// seamRatio is the distance from a row, in spacings, within which there is
	// no room for another (prototyped).
	seamRatio = 0.93
	// thinShare is how much of ChordErrM rows may stray by being thinned: with the
	// twentieth by which passes are laid, 0.9 of it.
	thinShare = 0.85
)

// Follow lays rows at constant spacing along guides: contours of the design
// terrain, lines given, or straights. The guide that brings most row within the
// greatest grade of the raw terrain goes first; where its rows leave that grade
// for longer than 15 m they end, and another guide begins in what is left.
// When no guide brings anything more, rows run on, or straight, whatever their
// grade, until the area is full.
//
// Rows of one guide lie at whole spacings from it to a twentieth of ChordErrM at
// every vertex, and stray by no more than ChordErrM between; rows of different guides
// keep the narrowest spacing. Where a row would bend tighter than the least
// radius it is broken, with a gap of GapM. Rows around a summit are opened at an
// alley. The same input gives the same rows for any number of processors. An
// area without room gives an empty layout.
func Follow(ctx context.Context, site Site, lim Limits, given []orb.LineString) (Guided, error) {
	return followOver(ctx, site, lim, given, nil)
}

// followOver is Follow that tells of its steps.
func followOver(ctx context.Context, site Site, lim Limits, given []orb.LineString, tell *progress) (Guided, error) {
	if err := lim.Validate(); err != nil {
		return Guided{}, fmt.Errorf("limits of contour rows: %w", err)
	}
	if len(site.Area) == 0 {
		return Guided{}, nil
	}
	f := newFiller(site, &lim, given)
	f.tell = tell
	for _, graded := range [2]bool{true, false} {
		for most := len(f.guides) + mostGuides; len(f.guides) < most; {
			done, err := f.next(ctx, graded)
			if err != nil {
				return Guided{}, err
			}
			if done {
				break
			}
		}
		f.runOnward()
	}
	return f.finish(), nil
}

// filler is the work of one area.
type filler struct {
	site   Site
	lim    *Limits
	extra  []orb.LineString
	ground *ground
	box    orb.Bound
	reach  float64 // from any place of the area to beyond it
	design terrain.Lattice
	vacant []bool // nodes of it in the area, without rows
	taken  occupied
	rows   []Row
	guides []Guide
	tell   *progress
	spare  []Row // stretches of their passes left out for their grade
}

func newFiller(site Site, lim *Limits, extra []orb.LineString) *filler {
	f := &filler{site: site, lim: lim, extra: extra, box: site.Area.Bound()}
	var rings []orb.Ring
	for _, p := range site.Area {
		rings = append(rings, p...)
	}
	f.ground = &ground{site.Area, polygon.NewIndex(rings...)}
	f.reach = distM(f.box.Min, f.box.Max) + 2*guideGrowM
	f.design = terrain.SampleGrid(site.Design, f.box.Pad(2*guideGrowM), restStepM)
	l := &f.design
	f.vacant = make([]bool, len(l.Z))
	xs := make([]float64, l.Cols)
	for i := range xs {
		xs[i] = l.Node(i, 0)[0]
	}
	for j := range l.Rows {
		scan(rings, l.Node(0, j)[1], xs, f.vacant[j*l.Cols:(j+1)*l.Cols])
	}
	f.taken = newOccupied(nil, lim)
	return f
}

// restLattice is the design heights around ground that has no row yet.
func (f *filler) restLattice() terrain.Lattice {
	l := f.design
	l.Z = make([]float64, len(f.design.Z))
	for k := range l.Z {
		l.Z[k] = math.NaN()
	}
	grow := int(guideGrowM / l.StepM)
	for j := range l.Rows {
		for i := range l.Cols {
			k := j*l.Cols + i
			// Ground once taken stays so.
			f.vacant[k] = f.vacant[k] && !f.taken.near(l.Node(i, j), seamRatio*f.lim.SpacingM)
			if !f.vacant[k] {
				continue
			}
			for b := max(0, j-grow); b <= min(l.Rows-1, j+grow); b++ {
				from, to := max(0, i-grow), min(l.Cols-1, i+grow)+1
				copy(l.Z[b*l.Cols+from:b*l.Cols+to], f.design.Z[b*l.Cols+from:b*l.Cols+to])
			}
		}
	}
	return l
}

// next adds the guide that brings most; done if none brings enough: two of the
// shortest rows, and where grade counts a hundredth of what the area holds.
func (f *filler) next(ctx context.Context, graded bool) (done bool, err error) {
	all := f.candidates()
	f.tell.begin(guideStep(len(f.guides)), len(all)+min(len(all), shortlist))
	for _, stride := range [2]int{roughly, closely} {
		if err := f.rank(ctx, all, stride, graded); err != nil {
			return true, err
		}
		all = all[:min(len(all), shortlist)]
	}
	if len(all) == 0 {
		return true, nil
	}
	ps := f.passes(&all[0], len(f.guides), 1, graded)
	least := 2 * f.lim.ShortM
	if graded {
		least = max(least, polygon.TotalAreaM2(f.site.Area)/f.lim.SpacingM/100)
	}
	if f.gain(ps) < least {
		return true, nil
	}
	f.accept(&all[0], ps)
	return false, nil
}

// guideStep names the search for the guide after n others.
func guideStep(n int) string {
	if n == 0 {
		return "following a guide"
	}
	return fmt.Sprintf("following guide %d", n+1)
}

// rank sorts guides by what every stride-th of their rows brings, best first.
func (f *filler) rank(ctx context.Context, all []candidate, stride int, graded bool) error {
	err := parallel(ctx, len(all), func(i int) error {
		defer f.tell.tick()
		all[i].gainM = f.gain(f.passes(&all[i], len(f.guides), stride, graded))
		return nil
	})
	slices.SortStableFunc(all, func(a, b candidate) int { return cmp.Compare(b.gainM, a.gainM) })
	return err
}

// gain is the length of good row less the turns it costs.
func (f *filler) gain(ps []pass) (sum float64) {
	for i := range ps {
		for _, line := range ps[i].good {
			sum += lengthM(line) - f.lim.TurnM
		}
	}
	return sum
}

func (f *filler) accept(c *candidate, ps []pass) {
	zone := len(f.guides)
	for i := range ps {
		for _, line := range ps[i].good {
			f.rows = append(f.rows, Row{line, ps[i].number, zone})
		}
		for _, line := range ps[i].left {
			f.spare = append(f.spare, Row{line, ps[i].number, zone})
		}
	}
	f.guides = append(f.guides, Guide{Curve: c.Line(), From: c.from, ServesM: f.serves(c.Curve)})
	f.taken = newOccupied(f.rows, f.lim)
}

// runOnward lets rows run on where no guide did better: stretches left out go
// back where they join a row, or are long enough for one.
func (f *filler) runOnward() {
	spare := f.spare
	f.spare = nil
	for _, r := range spare {
		for _, line := range f.taken.clear(r.Line, r.Zone) {
			back := Row{line, r.Number, r.Zone}
			if !f.join(back) && lengthM(line) >= f.lim.ShortM {
				f.rows = append(f.rows, back)
			}
		}
	}
	f.taken = newOccupied(f.rows, f.lim)
}

// join lengthens the row that a stretch goes on from, and joins the two that it
// lies between.
func (f *filler) join(s Row) (joined bool) {
	before, after := -1, -1
	for i := range f.rows {
		r := &f.rows[i]
		if r.Zone != s.Zone || r.Number != s.Number {
			continue
		}
		if distM(r.Line[len(r.Line)-1], s.Line[0]) < joinM {
			before = i
		}
		if distM(r.Line[0], s.Line[len(s.Line)-1]) < joinM {
			after = i
		}
	}
	switch {
	case before >= 0 && after >= 0 && before != after:
		line := append(append(slices.Clone(f.rows[before].Line), s.Line[1:]...), f.rows[after].Line[1:]...)
		f.rows[before].Line = line
		f.rows = slices.Delete(f.rows, after, after+1)
	case before >= 0 && before != after:
		f.rows[before].Line = append(slices.Clone(f.rows[before].Line), s.Line[1:]...)
	case after >= 0 && before != after:
		f.rows[after].Line = append(slices.Clone(s.Line), f.rows[after].Line[1:]...)
	}
	return (before >= 0 || after >= 0) && before != after
}

// finish thins the rows, sums up the guides and scores.
func (f *filler) finish() Guided {
	out := Guided{Guides: f.guides}
	for i := range f.rows {
		f.rows[i].Line = thin(f.rows[i].Line, thinShare*f.lim.ChordErrM)
	}
	// Chords turn a little more sharply than the curve they stand for, here and
	// there beyond the least radius.
	f.rows, _ = Break(f.rows, *f.lim)
	recount(out.Guides, f.rows)
	slices.SortStableFunc(f.rows, func(a, b Row) int {
		if a.Zone != b.Zone {
			return a.Zone - b.Zone
		}
		return a.Number - b.Number
	})
	out.Rows = f.rows
	out.Score = Judge(out.Rows, f.site.Area, f.site.Raw, *f.lim)
	return out
}

// recount sums up the rows of each guide.
func recount(guides []Guide, rows []Row) {
	for i := range guides {
		guides[i].First, guides[i].Last, guides[i].RowsM = 0, 0, 0
	}
	for i := range rows {
		r := &rows[i]
		if r.Zone >= len(guides) {
			continue
		}
		g := &guides[r.Zone]
		if g.RowsM == 0 {
			g.First, g.Last = r.Number, r.Number
		}
		g.First, g.Last = min(g.First, r.Number), max(g.Last, r.Number)
		g.RowsM += lengthM(r.Line)
	}
}

// occupied is ground that has rows.
type occupied struct {
	index  *polygon.Index
	zone   []int
	clearM float64
}

func newOccupied(rows []Row, lim *Limits) (o occupied) {
	var segs [][2]orb.Point
	for _, r := range rows {
		segs = appendSegments(segs, r.Line)
		for len(o.zone) < len(segs) {
			o.zone = append(o.zone, r.Zone)
		}
	}
	o.index = polygon.NewSegmentIndex(segs)
	o.clearM, _ = lim.window()
	o.clearM += geo.CoincidentM
	return o
}

// clear is what of a line keeps the narrowest spacing from rows of other zones.
func (o *occupied) clear(line []orb.Point, zone int) [][]orb.Point {
	if len(line) < 2 {
		return nil
	}
	return clearOf(line, o.index, o.clearM, func(i int, _ float64) bool { return o.zone[i] != zone })
}

// near reports whether a row is within r of p.
func (o *occupied) near(p orb.Point, r float64) (yes bool) {
	o.index.Search(orb.Bound{Min: p, Max: p}.Pad(r), func(i int) bool {
		a, b := o.index.Segment(i)
		yes = polygon.PointSegmentM(p, a, b) < r
		return !yes
	})
	return yes
}
