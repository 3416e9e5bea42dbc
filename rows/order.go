package rows

import (
	"math"
	"slices"

	"github.com/paulmach/orb"

	"hemrow/geo"
	"hemrow/geo/polygon"
)

// The order of laying. The crew starts at one side of the block and works
// across it, turning at the row ends. Where rows stand nearer than twice the
// machine's radius R, going on to the next row takes a bulb of three arcs;
// stepping over m-1 rows and coming back for them may turn plainly instead:
//
//	row after row, m = 1      1 2 3 4 5 6
//	stepping, m = 3           1 4 2 5 3 6 | 7 10 8 11 9 12 | …
//
// Both are tried and the shorter total path is taken; row after row wins ties.

// turnShape is the turn between rows some distance apart whose ends lie side
// by side.
type turnShape struct {
	apartM, pathM, depthM float64
	kind                  TurnKind
}

// shapeOfTurn is the turn between rows p apart, for a tightest radius r, all
// in metres.
//
//	p >= 2R   half circle and straight    πR + p - 2R      depth R
//	p <  2R   three arcs                  R(π + 4φ)        depth R + √(4R² - (R+p/2)²)
//	          with cos φ = (R + p/2) / 2R
//
// Source: plane geometry: a half circle, or three circles of radius R that touch.
// Add half the width and the length of a trailed implement (common practice).
func shapeOfTurn(p, r float64) turnShape {
	if p >= 2*r-geo.CoincidentM {
		return turnShape{p, math.Pi*r + p - 2*r, r, TurnPlain}
	}
	h := r + p/2
	phi := math.Acos(h / (2 * r))
	return turnShape{p, r * (math.Pi + 4*phi), r + math.Sqrt(4*r*r-h*h), TurnBulb}
}

// order finds the passes of the block whose rows are the last of p.Rows.
func (p *planner) order(b *Block, x axes) {
	rows := p.Rows[len(p.Rows)-b.RowCount:]
	reverse, in := p.start(x)
	p.ends = p.ends[:0]
	for i := range rows {
		p.ends = append(p.ends, endsOf(&rows[i]))
	}
	tr := turner{radiusM: p.Spec.TurnRadiusM, spacingM: p.Spec.SpacingM, bent: b.Bent}
	p.steps = tr.steps(p.steps[:0], p.ends, 1, reverse, in)
	best := tr.turning(p.ends, p.steps, in)
	best.Skip = 1
	// stepping over m rows turns plainly going on and by a bulb coming back over
	// m-1; over m+1 it turns plainly both ways
	if m := int(math.Ceil(2 * p.Spec.TurnRadiusM / p.Spec.SpacingM)); m > 1 {
		for skip := m; skip <= m+1 && skip < len(rows); skip++ {
			p.steps = tr.steps(p.steps[:0], p.ends, skip, reverse, in)
			if t := tr.turning(p.ends, p.steps, in); t.PathM < best.PathM-geo.CoincidentM {
				best, best.Skip = t, skip
			}
		}
		p.steps = tr.steps(p.steps[:0], p.ends, best.Skip, reverse, in)
	}
	b.Turning = best
	p.drive(b, rows, in, &tr)
}

// rowEnd is an end of a row with the direction in which a machine leaves it.
type rowEnd struct{ at, out orb.Point }

// rowEnds are end A and end B of a row, and the run of rows it belongs to.
type rowEnds struct {
	end  [2]rowEnd
	zone int
}

const (
	endA = iota
	endB
)

func endsOf(r *Row) rowEnds {
	first, end := r.Pieces[0].Line, r.Pieces[len(r.Pieces)-1].Line
	n := end.Len()
	return rowEnds{[2]rowEnd{
		endA: {first.At(0), unit(first.At(1), first.At(0))},
		endB: {end.At(n - 1), unit(end.At(n-2), end.At(n-1))},
	}, r.Zone}
}

// turner finds turns one after another. Straight rows lie whole spacings apart
// and few distances recur, so shapes are kept by the number of spacings.
type turner struct {
	radiusM, spacingM float64
	// bent lets the machine go to the nearer end of the next row, which need not
	// be a neighbour; straight rows are driven there and back.
	bent   bool
	shapes [16]turnShape
}

// turn is the way from one row to another.
type turn struct {
	kind         TurnKind
	pathM, needM float64
}

// between is the turn from one row end to another: the path of the shape for
// their distance across the row left, and the way by which one end lies beyond
// the other. To rows of another run it is a drive, as the crow flies.
func (t *turner) between(a, b rowEnd, neighbours bool) turn {
	dx, dy := b.at[0]-a.at[0], b.at[1]-a.at[1]
	apart := math.Abs(dx*a.out[1] - dy*a.out[0])
	if t.bent && (!neighbours || apart > neighbourSpacings*t.spacingM) {
		return turn{TurnDrive, math.Hypot(dx, dy), 0}
	}
	shape := &t.shapes[int(apart/t.spacingM+0.5)%len(t.shapes)]
	if math.Abs(shape.apartM-apart) > geo.CoincidentM || shape.apartM == 0 {
		*shape = shapeOfTurn(apart, t.radiusM)
	}
	return turn{shape.kind, shape.pathM + math.Abs(dx*a.out[0]+dy*a.out[1]), shape.depthM}
}

// neighbourSpacings is how far across the next bent row may lie, in spacings, and
// the way to it still be a turn on one headland (common practice, no source).
const neighbourSpacings = 5

// next is the end at which the next row is entered, and the turn to it.
func (t *turner) next(ends []rowEnds, from, to, out int) (in int, way turn) {
	a := ends[from].end[out]
	in = out
	if other := 1 - out; t.bent && distM(a.at, ends[to].end[other].at) < distM(a.at, ends[to].end[out].at)-geo.CoincidentM {
		in = other
	}
	return in, t.between(a, ends[to].end[in], ends[from].zone == ends[to].zone)
}

func distM(a, b orb.Point) float64 { return math.Hypot(b[0]-a[0], b[1]-a[1]) }

// steps is the order of rows in steps over m, appended to out. Bent rows are laid
// run by run, each begun at its nearer side, the nearest run next.
func (t *turner) steps(out []int, ends []rowEnds, m int, reverse bool, in int) []int {
	if !t.bent {
		return stepping(out, len(ends), m, reverse)
	}
	var left []span
	for i := range ends {
		if n := len(left); n > 0 && ends[left[n-1].lo].zone == ends[i].zone {
			left[n-1].hi = i + 1
			continue
		}
		left = append(left, span{i, i + 1})
	}
	take := 0
	if reverse {
		take = len(left) - 1
	}
	for len(left) > 0 {
		run, n := left[take], len(out)
		left = slices.Delete(left, take, take+1)
		out = append(out, stepping(nil, run.hi-run.lo, m, reverse)...)
		for k := n; k < len(out); k++ {
			out[k] += run.lo
			if k > 0 {
				in, _ = t.next(ends, out[k-1], out[k], 1-in)
			}
		}
		at := ends[out[len(out)-1]].end[1-in].at
		near := math.Inf(1)
		for i, s := range left {
			for _, back := range [2]bool{false, true} {
				row := s.lo
				if back {
					row = s.hi - 1
				}
				for _, e := range ends[row].end {
					if d := distM(at, e.at); d < near-geo.CoincidentM {
						near, take, reverse = d, i, back
					}
				}
			}
		}
	}
	return out
}

// turning sums the turns of going along the rows in the given order. The first
// row is driven from end in.
func (t *turner) turning(ends []rowEnds, steps []int, in int) (sum Turning) {
	for i := 1; i < len(steps); i++ {
		var way turn
		in, way = t.next(ends, steps[i-1], steps[i], 1-in)
		sum.PathM += way.pathM
		sum.LongestM = max(sum.LongestM, way.pathM)
		sum.NeedM = max(sum.NeedM, way.needM)
		switch way.kind {
		case TurnBulb:
			sum.Bulb++
		case TurnDrive:
			sum.Drives++
		default:
			sum.Plain++
		}
	}
	return sum
}

// start is where laying begins by the spec's side of the block: at the far rows
// or the near ones, and the end of the first that is driven in at. A side square
// to either, but for rounding, leaves the near row and end A.
func (p *planner) start(x axes) (far bool, in int) {
	side, ok := geo.ParseCompass(p.Spec.StartSide)
	if !ok {
		return false, endA
	}
	sx, sy := side.Bearing().Unit()
	if sx*x.ax+sy*x.ay > squareRatio {
		in = endB
	}
	return sx*x.nx+sy*x.ny > squareRatio, in
}

// squareRatio is the cosine below which two directions are square: 0.06 degrees,
// far above rounding and far below what a side of the compass means.
const squareRatio = 1e-3

// stepping is the order of n rows in groups of 2m: the first m of a group by
// turns with the rows m further on. It is appended to out.
func stepping(out []int, n, m int, reverse bool) []int {
	for g := 0; g < n; g += 2 * m {
		for i := g; i < g+m; i++ {
			if i < n {
				out = append(out, i)
			}
			if m > 1 && i+m < n {
				out = append(out, i+m)
			}
		}
		if m == 1 && g+1 < n {
			out = append(out, g+1)
		}
	}
	if reverse {
		for i := range out {
			out[i] = n - 1 - out[i]
		}
	}
	return out
}

// drive appends the passes of a block in the order p.steps.
func (p *planner) drive(b *Block, rows []Row, in int, tr *turner) {
	base := len(p.Rows) - len(rows)
	if p.Passes == nil {
		p.Passes = make([]Pass, 0, b.Tally.Pieces)
	}
	for i, k := range p.steps {
		var way turn
		if i > 0 {
			in, way = tr.next(p.ends, p.steps[i-1], k, 1-in)
		}
		fromB := in == endB
		n := len(rows[k].Pieces)
		for j := range n {
			at := j
			if fromB {
				at = n - 1 - j
			}
			pass := Pass{Row: base + k, Piece: at, FromB: fromB}
			switch {
			case j > 0:
				pass.TurnKind, pass.TurnM = TurnAhead, gap(rows[k], at, fromB)
				b.Turning.AheadM += pass.TurnM
				b.Turning.AheadPast++
				if p.leavesOutline(rows[k], at, fromB) {
					b.Turning.OutsideM += pass.TurnM
					b.Turning.OutsidePast++
				}
			case i > 0:
				pass.TurnKind, pass.TurnM = way.kind, way.pathM
			}
			p.Passes = append(p.Passes, pass)
		}
	}
}

// gap is the way from the piece before to piece at, along the row.
func gap(row Row, at int, fromB bool) float64 {
	p, q := gapEnds(row, at, fromB)
	return distM(p, q)
}

func gapEnds(row Row, at int, fromB bool) (p, q orb.Point) {
	a, b := at-1, at
	if fromB {
		a, b = at, at+1
	}
	_, end := row.Pieces[a].Line.Ends()
	start, _ := row.Pieces[b].Line.Ends()
	return end, start
}

// leavesOutline reports whether the gap before piece at crosses the outer ring:
// then the ground between is not the grower's, and the machine drives round.
func (p *planner) leavesOutline(row Row, at int, fromB bool) bool {
	a, b := gapEnds(row, at, fromB)
	for _, e := range p.site.edges[:p.site.outer] {
		if (polygon.Orient(a, b, e.a) >= 0) != (polygon.Orient(a, b, e.b) >= 0) &&
			(polygon.Orient(e.a, e.b, a) >= 0) != (polygon.Orient(e.a, e.b, b) >= 0) {
			return true
		}
	}
	return false
}
