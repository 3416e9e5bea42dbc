package rows

import (
	"errors"
	"fmt"
	"math"

	"github.com/paulmach/orb"

	"hemrow/geo"
	"hemrow/geo/polygon"
)

// Check states every invariant of a layout and returns all that are broken,
// joined; nil for a sound one. Which clearance an edge asks is decided as the
// clip decides it; whether it is kept is measured otherwise, by the distance
// between segments and by points in polygons.
//
//   - Rows are numbered 1, 2, 3 … without gaps, block after block, and lie on
//     their block's grid: across distances are whole spacings, ascending.
//   - Pieces run from end A to end B along the heading, in order, without
//     overlap, are finite, at least the shortest and at most the longest run,
//     with plan and ground length as the frame gives them.
//   - Every piece keeps its clearance from every edge and lies in its block.
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
	x := axesOf(b.Heading)
	if k := r.AcrossM / l.Spec.SpacingM; math.Abs(k-math.Round(k)) > checkTolM {
		bad("row %d lies %g m from row one, no whole number of spacings", r.Number, r.AcrossM)
	}
	if len(r.Pieces) == 0 {
		bad("row %d has no piece", r.Number)
	}
	lastU := math.Inf(-1)
	factor := l.Field.Frame.GroundFactor()
	for i, p := range r.Pieces {
		if p.Part != i+1 {
			bad("row %d piece %d is called part %d", r.Number, i+1, p.Part)
		}
		if p.Line.Len() < 2 {
			bad("row %d part %d has no line", r.Number, p.Part)
			return
		}
		first, last := p.Line.Ends()
		u0, v0 := x.uv(first)
		u1, v1 := x.uv(last)
		if !(u0 >= lastU && u1 > u0) || math.Abs(v1-v0) > checkTolM {
			bad("row %d part %d does not run along the heading after the part before", r.Number, p.Part)
		}
		lastU = u1
		if w := p.Line.PlanM(l.Field.Frame); math.Abs(w-p.PlanM) > checkTolM {
			bad("row %d part %d has plan length %g, its line %g", r.Number, p.Part, p.PlanM, w)
		}
		if math.Abs(p.GroundM-p.Line.GroundM()) > checkTolM || p.GroundM < p.PlanM*factor-checkTolM ||
			l.Field.Surface == nil && p.GroundM > p.PlanM*factor+checkTolM {
			bad("row %d part %d has ground length %g", r.Number, p.Part, p.GroundM)
		}
		if (p.Slope != nil) != (l.Field.Surface != nil) {
			bad("row %d part %d knows of terrain what the field does not", r.Number, p.Part)
		}
		l.checkRun(r, p, u1-u0, bad)
		l.checkClear(r, p, x, bad)
		l.checkStations(r, p, bad)
	}
}

func (l Layout) checkRun(r Row, p Piece, lengthM float64, bad func(string, ...any)) {
	if lengthM < l.Spec.ShortestM-checkTolM {
		bad("row %d part %d is %g m, shorter than the shortest", r.Number, p.Part, lengthM)
	}
	if l.Spec.LongestM > 0 && lengthM > l.Spec.LongestM+checkTolM {
		bad("row %d part %d is %g m, longer than the longest run", r.Number, p.Part, lengthM)
	}
}

// checkClear measures from a piece to every edge it must keep clear of.
func (l Layout) checkClear(r Row, p Piece, x axes, bad func(string, ...any)) {
	a, b := p.Line.Ends()
	mid := orb.Point{(a[0] + b[0]) / 2, (a[1] + b[1]) / 2}
	st := newSite(l.Field.Blocks[r.Block], l.Field.Obstacles, &l.Spec)
	cosSide := st.cosSide()
	for i, e := range st.edges {
		want := st.keep(i, x.ax, x.ay, cosSide)
		if got := polygon.SegmentDistanceM(a, b, e.a, e.b); got < want-2*geo.ClearanceSlackM {
			bad("row %d part %d comes within %.6f m of edge %d, asked %g", r.Number, p.Part, got, i+1, want)
		}
	}
	if !polygon.Contains(l.Field.Blocks[r.Block].Outline, mid) {
		bad("row %d part %d lies outside its block", r.Number, p.Part)
	}
	for _, o := range l.Field.Obstacles {
		if len(o.Area) > 0 && polygon.Locate(o.Area, mid) == polygon.Inside {
			bad("row %d part %d lies in obstacle %s", r.Number, p.Part, o.Name)
		}
	}
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
	}
}

func (l Layout) checkBlock(i int, b Block, bad func(string, ...any)) {
	var t Tally
	first := 0
	across := math.Inf(-1)
	for _, r := range l.Rows {
		if r.Block != i {
			continue
		}
		if first == 0 {
			first = r.Number
		}
		if r.AcrossM <= across {
			bad("row %d does not lie beyond the row before", r.Number)
		}
		across = r.AcrossM
		t.Rows++
		t.Pieces += len(r.Pieces)
		for _, p := range r.Pieces {
			t.PlantedM += p.PlanM
		}
	}
	if first != b.FirstRow || t.Rows != b.RowCount || t.Rows != b.Tally.Rows || t.Pieces != b.Tally.Pieces {
		bad("block %q counts %d rows from %d with %d pieces, has %d from %d with %d",
			b.Name, b.RowCount, b.FirstRow, b.Tally.Pieces, t.Rows, first, t.Pieces)
	}
	if math.Abs(t.PlantedM-b.Tally.PlantedM) > checkTolM*float64(1+t.Pieces) {
		bad("block %q sums %g m, its pieces %g m", b.Name, b.Tally.PlantedM, t.PlantedM)
	}
	if b.Heading < 0 || b.Heading >= 180 {
		bad("block %q has heading %g", b.Name, b.Heading.Deg())
	}
}

func (l Layout) checkPasses(bad func(string, ...any)) {
	seen := make(map[[2]int]bool)
	path := make([]float64, len(l.Blocks))
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
		if p.TurnKind == TurnPlain || p.TurnKind == TurnBulb {
			path[b] += p.TurnM
		}
	}
	pieces := 0
	for i, b := range l.Blocks {
		pieces += b.Tally.Pieces
		if math.Abs(path[i]-b.Turning.PathM) > checkTolM*float64(1+len(l.Passes)) {
			bad("block %q turns over %g m, its passes over %g m", b.Name, b.Turning.PathM, path[i])
		}
	}
	if len(seen) != pieces {
		bad("%d pieces are never laid", pieces-len(seen))
	}
}
