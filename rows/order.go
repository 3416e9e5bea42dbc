package rows

import (
	"math"

	"github.com/paulmach/orb"

	"hemrow/geo"
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
	if p >= 2*r {
		return turnShape{p, math.Pi*r + p - 2*r, r, TurnPlain}
	}
	h := r + p/2
	phi := math.Acos(h / (2 * r))
	return turnShape{p, r * (math.Pi + 4*phi), r + math.Sqrt(4*r*r-h*h), TurnBulb}
}

// order finds the passes of the block whose rows are the last of p.Rows.
func (p *planner) order(b *Block, x axes) {
	rows := p.Rows[len(p.Rows)-b.RowCount:]
	reverse, atB := p.start(x)
	p.ends = p.ends[:0]
	for i := range rows {
		pc := rows[i].Pieces
		first, _ := pc[0].Line.Ends()
		_, last := pc[len(pc)-1].Line.Ends()
		u0, _ := x.uv(first)
		u1, _ := x.uv(last)
		p.ends = append(p.ends, rowEnds{u0, u1, rows[i].AcrossM})
	}
	p.steps = stepping(p.steps[:0], len(rows), 1, reverse)
	tr := turner{radiusM: p.Spec.TurnRadiusM, spacingM: p.Spec.SpacingM}
	best := tr.turning(p.ends, p.steps, atB)
	best.Skip = 1
	// stepping over m rows turns plainly going on and by a bulb coming back over
	// m-1; over m+1 it turns plainly both ways
	if m := int(math.Ceil(2 * p.Spec.TurnRadiusM / p.Spec.SpacingM)); m > 1 {
		for skip := m; skip <= m+1 && skip < len(rows); skip++ {
			p.steps = stepping(p.steps[:0], len(rows), skip, reverse)
			if t := tr.turning(p.ends, p.steps, atB); t.PathM < best.PathM-geo.CoincidentM {
				best, best.Skip = t, skip
			}
		}
		p.steps = stepping(p.steps[:0], len(rows), best.Skip, reverse)
	}
	b.Turning = best
	p.drive(b, rows, atB, &tr)
}

// rowEnds are the places of a row's ends along it, and of the row across.
type rowEnds struct{ u0, u1, across float64 }

// turner finds turns one after another. Rows lie whole spacings apart and few
// distances recur, so shapes are kept by the number of spacings.
type turner struct {
	radiusM, spacingM float64
	shapes            [16]turnShape
}

// between is the shape and the path of the turn from row a to row b at their
// B ends, or their A ends: the path of the shape and the way by which one end
// lies beyond the other.
func (t *turner) between(a, b rowEnds, atB bool) (shape *turnShape, pathM float64) {
	apart := math.Abs(b.across - a.across)
	shape = &t.shapes[int(apart/t.spacingM+0.5)%len(t.shapes)]
	if shape.apartM != apart {
		*shape = shapeOfTurn(apart, t.radiusM)
	}
	du := b.u0 - a.u0
	if atB {
		du = b.u1 - a.u1
	}
	return shape, shape.pathM + math.Abs(du)
}

// turning sums the turns of going along the rows in the given order, there
// and back by turns. The first row is driven from end A, or B.
func (tr *turner) turning(ends []rowEnds, steps []int, startB bool) (t Turning) {
	for i := 1; i < len(steps); i++ {
		shape, path := tr.between(ends[steps[i-1]], ends[steps[i]], (i%2 == 1) != startB)
		t.PathM += path
		t.LongestM = max(t.LongestM, path)
		t.NeedM = max(t.NeedM, shape.depthM)
		if shape.kind == TurnBulb {
			t.Bulb++
		} else {
			t.Plain++
		}
	}
	return t
}

// start is where laying begins by the spec's side of the block: at the far rows
// or the near ones, at end B or A. A side square to either, but for rounding,
// leaves the near row and end A.
func (p *planner) start(x axes) (far, atB bool) {
	side, ok := geo.ParseCompass(p.Spec.StartSide)
	if !ok {
		return false, false
	}
	sx, sy := side.Bearing().Unit()
	return sx*x.nx+sy*x.ny > squareRatio, sx*x.ax+sy*x.ay > squareRatio
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
func (p *planner) drive(b *Block, rows []Row, startB bool, tr *turner) {
	base := len(p.Rows) - len(rows)
	if p.Passes == nil {
		p.Passes = make([]Pass, 0, b.Tally.Pieces)
	}
	for i, k := range p.steps {
		fromB := (i%2 == 1) != startB
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
				shape, path := tr.between(p.ends[p.steps[i-1]], p.ends[k], fromB)
				pass.TurnKind, pass.TurnM = shape.kind, path
			}
			p.Passes = append(p.Passes, pass)
		}
	}
}

// gap is the way from the piece before to piece at, along the row.
func gap(row Row, at int, fromB bool) float64 {
	p, q := gapEnds(row, at, fromB)
	return math.Hypot(q[0]-p[0], q[1]-p[1])
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
	x := axesOf(p.Blocks[row.Block].Heading)
	u0, v := x.uv(a)
	u1, _ := x.uv(b)
	for _, t := range p.clip.edges[:p.site.outer] { // as the last clip turned them
		if (t.va <= v) != (t.vb <= v) {
			if u := t.ua + (v-t.va)*t.slope; u > u0 && u < u1 {
				return true
			}
		}
	}
	return false
}
