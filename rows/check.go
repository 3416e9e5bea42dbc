package rows

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"github.com/paulmach/orb"

	"hemrow/geo"
	"hemrow/geo/polygon"
	"hemrow/rows/contour"
)

// Check states every invariant of a layout and returns all that are broken,
// joined; nil for a sound one. Which clearance an edge asks is decided as the
// clip decides it; whether it is kept is measured otherwise, by the distance
// between segments and by points in polygons.
//
//   - Rows are numbered 1, 2, 3 … without gaps, block after block. Straight ones
//     lie on their block's grid, across distances whole spacings, ascending, and
//     their pieces run from end A to end B along the heading without overlap.
//   - Bent rows do not cross, bend no tighter than the limit, and come nowhere
//     nearer to each other than the floor of the layer of them; where they are
//     nearer than the window of spacing, the score says so, of which a note is made.
//   - Pieces are finite, at least the shortest and at most the longest run, with
//     plan and ground length as the frame gives them.
//   - Every segment keeps its clearance from every edge and lies in its block.
//   - Stations lie on their piece, a pitch apart, clear of both ends.
//   - Totals are the sums of the pieces; passes take each piece once.
//
// Cost is pieces times edges; it is meant for tests and for callers who can
// wait.
func (l Layout) Check() error {
	var errs []error
	bad := func(format string, args ...any) { errs = append(errs, fmt.Errorf(format, args...)) }
	if len(l.Blocks) != len(l.Field.Blocks) {
		bad("%d blocks laid out of %d", len(l.Blocks), len(l.Field.Blocks))
		return errors.Join(errs...)
	}
	for i, r := range l.Rows {
		if r.Number != i+1 {
			bad("row %d is numbered %d", i+1, r.Number)
		}
		if r.Block < 0 || r.Block >= len(l.Blocks) || (i > 0 && r.Block < l.Rows[i-1].Block) {
			bad("row %d is in block %d", r.Number, r.Block)
			return errors.Join(errs...)
		}
		l.checkRow(r, bad)
	}
	for i, b := range l.Blocks {
		l.checkBlock(i, b, bad)
	}
	l.checkPasses(bad)
	return errors.Join(errs...)
}

// checkTolM: 1 µm, the tolerance of coincidence; sums of a thousand pieces
// keep it.
const checkTolM = geo.CoincidentM

func (l Layout) checkRow(r Row, bad func(string, ...any)) {
	b := l.Blocks[r.Block]
	if k := r.AcrossM / l.Spec.SpacingM; !b.Bent && math.Abs(k-math.Round(k)) > checkTolM {
		bad("row %d lies %g m from row one, no whole number of spacings", r.Number, r.AcrossM)
	}
	if len(r.Pieces) == 0 {
		bad("row %d has no piece", r.Number)
	}
	factor := l.Field.Frame.GroundFactor()
	for i, p := range r.Pieces {
		if p.Part != i+1 {
			bad("row %d piece %d is called part %d", r.Number, i+1, p.Part)
		}
		if p.Line.Len() < 2 {
			bad("row %d part %d has no line", r.Number, p.Part)
			return
		}
		w := p.Line.PlanM(l.Field.Frame)
		if !(w+p.GroundM < math.Inf(1)) { // catches NaN
			bad("row %d part %d is not finite", r.Number, p.Part)
			continue
		}
		if math.Abs(w-p.PlanM) > checkTolM {
			bad("row %d part %d has plan length %g, its line %g", r.Number, p.Part, p.PlanM, w)
		}
		if math.Abs(p.GroundM-p.Line.GroundM()) > checkTolM || p.GroundM < p.PlanM*factor-checkTolM ||
			l.Field.Surface == nil && p.GroundM > p.PlanM*factor+checkTolM {
			bad("row %d part %d has ground length %g", r.Number, p.Part, p.GroundM)
		}
		if (p.Slope != nil) != (l.Field.Surface != nil) {
			bad("row %d part %d knows of terrain what the field does not", r.Number, p.Part)
		}
		l.checkRun(r, p, lineM(p.Line.Points()), bad)
		l.checkClear(r, p, bad)
		l.checkStations(r, p, bad)
		l.checkGrades(r, p, bad)
	}
	if !b.Bent {
		l.checkStraight(r, axesOf(b.Heading), bad)
		return
	}
	if len(r.Pieces) > 0 {
		e := endsOf(&r).end
		if way := geo.BearingOf(e[endB].at[0]-e[endA].at[0], e[endB].at[1]-e[endA].at[1]).Compass(); way != r.EndB || r.EndA != way.Opposite() {
			bad("row %d runs to %s, not from %s to %s", r.Number, way, r.EndA, r.EndB)
		}
	}
	for i := 1; i < len(r.Pieces); i++ {
		before, after := r.Pieces[i-1].Line.Points(), r.Pieces[i].Line.Points()
		p, q := last(before), after[0]
		t, u := tailOf(before), headOf(after)
		if (q[0]-p[0])*t[0]+(q[1]-p[1])*t[1] <= 0 || (q[0]-p[0])*u[0]+(q[1]-p[1])*u[1] <= 0 {
			bad("row %d part %d does not go on from the part before", r.Number, i+1)
		}
	}
}

// checkStraight checks that pieces follow one another along the heading.
func (l Layout) checkStraight(r Row, x axes, bad func(string, ...any)) {
	lastU := math.Inf(-1)
	for _, p := range r.Pieces {
		first, end := p.Line.Ends()
		u0, v0 := x.uv(first)
		u1, v1 := x.uv(end)
		if !(u0 >= lastU && u1 > u0) || math.Abs(v1-v0) > checkTolM {
			bad("row %d part %d does not run along the heading after the part before", r.Number, p.Part)
		}
		lastU = u1
	}
}

// checkGrades checks that the runs of grade follow one another from end to end.
func (l Layout) checkGrades(r Row, p Piece, bad func(string, ...any)) {
	if l.Field.Surface == nil {
		return
	}
	var at float64
	for _, g := range p.Grades {
		if g.FromM != at || !(g.ToM > at) {
			bad("row %d part %d has a run of grade from %g to %g m after %g", r.Number, p.Part, g.FromM, g.ToM, at)
		}
		at = g.ToM
		if want := stepOf(g.GradePct); g.Step >= 0 && g.Step != want {
			bad("row %d part %d has a grade of %g %% in step %d", r.Number, p.Part, g.GradePct, g.Step)
		}
	}
	if at != p.GroundM {
		bad("row %d part %d has grades for %g of %g m", r.Number, p.Part, at, p.GroundM)
	}
}

// checkBent checks the rows of a bent block against each other.
func (l Layout) checkBent(i int, bad func(string, ...any)) {
	b := l.Blocks[i]
	var rows []contour.Row
	for _, r := range l.Rows[b.FirstRow-1 : b.FirstRow-1+b.RowCount] {
		for _, p := range r.Pieces {
			rows = append(rows, contour.Row{Line: withoutBreaks(p.Line), Number: r.Number})
		}
	}
	lim := b.Curved.Limits
	s := contour.Judge(rows, orb.MultiPolygon{l.Field.Blocks[i].Outline}, l.Field.Surface, lim)
	if s.TightRatio > 0 {
		bad("a row of block %q bends to %g m, tighter than %g", b.Name, s.RadiusMinM, lim.RadiusM)
	}
	if lo := lim.NarrowRatio * lim.SpacingM; s.SpacingLeastM > 0 { // else no row has another beside it
		if s.SpacingLeastM < lim.FloorM()-lim.ChordErrM {
			bad("rows of block %q come within %g m", b.Name, s.SpacingLeastM)
		} else if said := b.Curved.Laid().Score.SpacingLeastM; s.SpacingLeastM < lo-checkTolM && !(said < lo) {
			bad("rows of block %q come within %g m, and the score does not say so", b.Name, s.SpacingLeastM)
		}
	}
	if said := &b.Curved.Laid().Score; said.Pieces != s.Pieces || math.Abs(said.LengthM-s.LengthM) > checkTolM*float64(1+s.Pieces) ||
		math.Abs(said.SpacingLeastM-s.SpacingLeastM) > l.Spec.Curving.ChordErrM {
		bad("block %q was scored by other rows than those laid", b.Name)
	}
	if b.Heading.FoldedDiffDeg(meanHeading(rows)) > 0.01 {
		bad("block %q has heading %g, its rows %g", b.Name, b.Heading.Deg(), meanHeading(rows).Deg())
	}
	for _, r := range rows {
		for _, alley := range b.Alleys {
			for k := 1; k < len(alley); k++ {
				for m := 1; m < len(r.Line); m++ {
					if d := polygon.SegmentDistanceM(alley[k-1], alley[k], r.Line[m-1], r.Line[m]); d < l.Spec.CrossAlleyM/2-2*geo.ClearanceSlackM {
						bad("row %d comes within %g m of the middle of a cross alley", r.Number, d)
					}
				}
			}
		}
	}
	var segs [][2]orb.Point
	var of []int
	for i, r := range rows {
		for k := 1; k < len(r.Line); k++ {
			segs, of = append(segs, [2]orb.Point{r.Line[k-1], r.Line[k]}), append(of, i)
		}
	}
	index := polygon.NewSegmentIndex(segs)
	for k, s := range segs {
		index.Search(orb.MultiPoint{s[0], s[1]}.Bound(), func(j int) bool {
			if (of[j] != of[k] || j > k+1) && polygon.SegmentDistanceM(s[0], s[1], segs[j][0], segs[j][1]) == 0 {
				bad("rows %d and %d cross", rows[of[k]].Number, rows[of[j]].Number)
				return false
			}
			return true
		})
	}
}

// withoutBreaks is a line without the vertices that it has for its heights only,
// which lie on the way between others.
func withoutBreaks(l geo.Line) orb.LineString {
	out := orb.LineString{l.At(0)}
	for i := 1; i < l.Len()-1; i++ {
		if polygon.PointSegmentM(l.At(i), out[len(out)-1], l.At(i+1)) > checkTolM {
			out = append(out, l.At(i))
		}
	}
	return append(out, l.At(l.Len()-1))
}

func (l Layout) checkRun(r Row, p Piece, lengthM float64, bad func(string, ...any)) {
	if lengthM < l.Spec.ShortestM-checkTolM {
		bad("row %d part %d is %g m, shorter than the shortest", r.Number, p.Part, lengthM)
	}
	if l.Spec.LongestM > 0 && lengthM > l.Spec.LongestM+checkTolM {
		bad("row %d part %d is %g m, longer than the longest run", r.Number, p.Part, lengthM)
	}
}

// checkClear measures from every segment of a piece to every edge it must keep
// clear of.
func (l Layout) checkClear(r Row, p Piece, bad func(string, ...any)) {
	st := newSite(l.Field.Blocks[r.Block], l.Field.Obstacles, &l.Spec)
	cosSide := st.cosSide()
	line := withoutBreaks(p.Line)
	for k := 1; k < len(line); k++ {
		a, b := line[k-1], line[k]
		t := unit(a, b)
		for i, e := range st.edges {
			want := st.keep(i, t[0], t[1], cosSide)
			if got := polygon.SegmentDistanceM(a, b, e.a, e.b); got < want-2*geo.ClearanceSlackM {
				bad("row %d part %d comes within %.6f m of edge %d, asked %g", r.Number, p.Part, got, i+1, want)
			}
		}
		for _, mid := range st.parts(a, b) {
			if !polygon.Contains(l.Field.Blocks[r.Block].Outline, mid) {
				bad("row %d part %d lies outside its block", r.Number, p.Part)
			}
			for _, o := range l.Field.Obstacles {
				if len(o.Area) > 0 && polygon.Locate(o.Area, mid) == polygon.Inside {
					bad("row %d part %d lies in obstacle %s", r.Number, p.Part, o.Name)
				}
			}
		}
	}
}

// parts is a place in each part of the segment ab between the edges that it
// meets.
func (st *site) parts(a, b orb.Point) (out []orb.Point) {
	at := []float64{0, 1}
	dx, dy := b[0]-a[0], b[1]-a[1]
	for _, e := range st.edges {
		ex, ey := e.b[0]-e.a[0], e.b[1]-e.a[1]
		if d := dx*ey - dy*ex; d != 0 {
			t := ((e.a[0]-a[0])*ey - (e.a[1]-a[1])*ex) / d
			if t > 0 && t < 1 && polygon.SegmentDistanceM(a, b, e.a, e.b) < geo.CoincidentM {
				at = append(at, t)
			}
		}
	}
	slices.Sort(at)
	for i := 1; i < len(at); i++ {
		if (at[i]-at[i-1])*math.Hypot(dx, dy) > geo.CoincidentM {
			out = append(out, between(a, b, (at[i-1]+at[i])/2))
		}
	}
	return out
}

func (l Layout) checkStations(r Row, p Piece, bad func(string, ...any)) {
	last := make(map[int]float64, len(l.Spec.Plants))
	for _, s := range p.Stations {
		if s.Plant < 0 || s.Plant >= len(l.Spec.Plants) {
			bad("row %d part %d has a station of plant %d", r.Number, p.Part, s.Plant)
			continue
		}
		pl := l.Spec.Plants[s.Plant]
		if s.ChainageM < pl.StartM-checkTolM || s.ChainageM > p.GroundM-pl.StartM+checkTolM {
			bad("row %d part %d has %s at %g m of %g", r.Number, p.Part, pl.Plant, s.ChainageM, p.GroundM)
		}
		if m, ok := last[s.Plant]; ok && math.Abs(s.ChainageM-m-pl.PitchM) > 2*checkTolM {
			bad("row %d part %d has %s %g m apart", r.Number, p.Part, pl.Plant, s.ChainageM-m)
		}
		last[s.Plant] = s.ChainageM
		if at := p.Line.PointAt(s.ChainageM); distM(at, s.At) > checkTolM {
			bad("row %d part %d has %s beside its line at %g m", r.Number, p.Part, pl.Plant, s.ChainageM)
		}
	}
	n := r.Number - l.Blocks[r.Block].FirstRow + 1
	if want := stations(l.Spec.Plants, n, &p); len(want) != len(p.Stations) {
		bad("row %d part %d has %d stations, not %d", r.Number, p.Part, len(p.Stations), len(want))
	}
}

func (l Layout) checkBlock(i int, b Block, bad func(string, ...any)) {
	var t Tally
	first := 0
	across := math.Inf(-1)
	zone := 0
	worth, least, most := l.Spec.valuer(), 0.0, 0.0 // a piece of the shortest length may count or not
	for _, r := range l.Rows {
		if r.Block != i {
			continue
		}
		if first == 0 {
			first = r.Number
		}
		if !b.Bent && r.AcrossM <= across {
			bad("row %d does not lie beyond the row before", r.Number)
		}
		across = r.AcrossM
		if r.Zone != zone && r.Zone != zone+1 || r.Zone < 1 {
			bad("row %d is of run %d after %d", r.Number, r.Zone, zone)
		}
		zone = r.Zone
		t.Rows++
		t.Pieces += len(r.Pieces)
		for _, p := range r.Pieces {
			t.PlantedM += p.PlanM
			m := lineM(p.Line.Points())
			least, most = least+worth.of(m-checkTolM), most+worth.of(m+checkTolM)
		}
	}
	if first != b.FirstRow || t.Rows != b.RowCount || t.Rows != b.Tally.Rows || t.Pieces != b.Tally.Pieces {
		bad("block %q counts %d rows from %d with %d pieces, has %d from %d with %d",
			b.Name, b.RowCount, b.FirstRow, b.Tally.Pieces, t.Rows, first, t.Pieces)
	}
	if w := b.Tally.WorthScore; w < least-checkTolM || w > most+checkTolM {
		bad("block %q is worth %g to %g, not %g", b.Name, least, most, w)
	}
	if math.Abs(t.PlantedM-b.Tally.PlantedM) > checkTolM*float64(1+t.Pieces) {
		bad("block %q sums %g m, its pieces %g m", b.Name, b.Tally.PlantedM, t.PlantedM)
	}
	if b.Bent != (b.Curved != nil && b.Curved.Laid().Method != contour.Straight) {
		bad("block %q is bent or straight against what was chosen", b.Name)
	} else if b.Bent && b.RowCount > 0 {
		l.checkBent(i, bad)
	}
	if b.Heading < 0 || b.Heading >= 180 {
		bad("block %q has heading %g", b.Name, b.Heading.Deg())
	}
}

func (l Layout) checkPasses(bad func(string, ...any)) {
	seen := make(map[[2]int]bool)
	path := make([]float64, len(l.Blocks))
	ahead := make([]float64, len(l.Blocks))
	kinds := make([][5]int, len(l.Blocks))
	block := 0
	for i, p := range l.Passes {
		if p.Row < 0 || p.Row >= len(l.Rows) || p.Piece < 0 || p.Piece >= len(l.Rows[p.Row].Pieces) || seen[[2]int{p.Row, p.Piece}] {
			bad("pass %d takes row %d piece %d, which is not there or was taken", i+1, p.Row, p.Piece)
			return
		}
		seen[[2]int{p.Row, p.Piece}] = true
		b := l.Rows[p.Row].Block
		if first := i == 0 || b != block; first != (p.TurnKind == TurnNone) || b < block {
			bad("pass %d is out of its block's order", i+1)
		}
		block = b
		if p.TurnKind > TurnDrive {
			bad("pass %d turns in a way that is not known", i+1)
			return
		}
		kinds[b][p.TurnKind]++
		if p.TurnKind == TurnAhead {
			ahead[b] += p.TurnM
			if q := l.Passes[i-1]; q.Row != p.Row || q.FromB != p.FromB || math.Abs(gap(l.Rows[p.Row], p.Piece, p.FromB)-p.TurnM) > checkTolM {
				bad("pass %d does not go on ahead along its row", i+1)
			}
		}
		if p.TurnKind == TurnPlain || p.TurnKind == TurnBulb || p.TurnKind == TurnDrive {
			path[b] += p.TurnM
		}
	}
	pieces := 0
	for i, b := range l.Blocks {
		pieces += b.Tally.Pieces
		t := b.Turning
		if k := kinds[i]; k[TurnPlain] != t.Plain || k[TurnBulb] != t.Bulb || k[TurnDrive] != t.Drives || k[TurnAhead] != t.AheadPast ||
			math.Abs(ahead[i]-t.AheadM) > checkTolM*float64(1+len(l.Passes)) {
			bad("block %q counts other turns than its passes", b.Name)
		}
		if math.Abs(path[i]-b.Turning.PathM) > checkTolM*float64(1+len(l.Passes)) {
			bad("block %q turns over %g m, its passes over %g m", b.Name, b.Turning.PathM, path[i])
		}
	}
	if len(seen) != pieces {
		bad("%d pieces are never laid", pieces-len(seen))
	}
}
