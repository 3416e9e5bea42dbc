package field

import (
	"errors"
	"fmt"
	"math"

	"github.com/paulmach/orb"

	"hemrow/geo"
	"hemrow/geo/format"
	"hemrow/geo/polygon"
)

// project brings a polygon as written into the frame.
func (b *builder) project(p format.Polygon) orb.Polygon {
	q := make(orb.Polygon, len(p))
	for k, r := range p {
		q[k] = make(orb.Ring, len(r))
		for i, c := range r {
			if i > 0 && i == len(r)-1 && c.X == r[0].X && c.Y == r[0].Y {
				q[k][i] = q[k][0]
				continue
			}
			q[k][i] = b.frame.ToLocal(b.lonLat(c))
		}
	}
	return q
}

// sound projects and repairs one polygon, notes each change, and answers
// with the ground it means. Refusals are gathered in b.errs.
func (b *builder) sound(p part) []orb.Polygon {
	q := b.project(p.rings)
	parts, fixes, err := polygon.Repair(q, polygon.Options{SplitCrossings: b.spec.SplitCrossings})
	if err != nil {
		b.errs = append(b.errs, b.refusal(p.where, err))
		return nil
	}
	for _, x := range fixes {
		if x.Kind == polygon.FixTurned && !b.turns {
			continue // as the format has it, or does not care
		}
		b.fixed(p.where, x)
	}
	for i := range parts {
		parts[i] = b.thin(p.where, parts[i])
		for _, n := range polygon.Needles(parts[i]) {
			at := b.frame.ToLonLat(n.At)
			b.note(geo.Note{
				Code: geo.NoteNeedle, Severity: geo.Caution, Place: p.place(0, 0, &at),
				Text:  fmt.Sprintf("the outline runs %.1f m out and back %.0f mm apart; kept as surveyed", n.LengthM, n.WidthM*1000),
				Hint:  "remove the point if nothing is there: rows keep away from it",
				Value: n.LengthM, Unit: "m",
			})
		}
	}
	return parts
}

// refusal words what the repair would not decide, with its place in the file.
func (b *builder) refusal(w where, err error) error {
	var r *polygon.Refusal
	if !errors.As(err, &r) {
		e := w.input(0, 0, nil)
		e.Problem = err.Error()
		return e
	}
	at := b.frame.ToLonLat(r.At)
	e := w.input(r.Ring, r.Vertex+1, &at)
	e.Problem, e.Hint = r.Problem, r.Hint
	if r.OtherVertex >= 0 {
		e.Problem += fmt.Sprintf(": the side from vertex %d meets the side from vertex %d", r.Vertex+1, r.OtherVertex+1)
		if r.OtherRing != r.Ring {
			e.Problem += " of " + ringName(r.OtherRing)
		}
	}
	if r.Kind == polygon.SelfCrossing {
		e.Hint = "correct the order of the vertices, or set split_crossings to plant the parts"
	}
	return e
}

func ringName(ring int) string {
	if ring == 0 {
		return "the outer ring"
	}
	return fmt.Sprintf("hole %d", ring)
}

// remedy is how a kind of repair is told.
type remedy struct {
	code     geo.Code
	severity geo.Severity
	text     string // with one verb for the value
	hint     string
}

func remedyOf(k polygon.FixKind) remedy {
	switch k {
	case polygon.FixClosed:
		return remedy{geo.NoteRingClosed, geo.Caution, "open ring closed over %.2f m", "survey the missing side if there is one"}
	case polygon.FixSnapped:
		return remedy{geo.NoteRingSnapped, geo.Info, "last vertex dropped, %.4f m from the first", ""}
	case polygon.FixDuplicate:
		return remedy{geo.NoteDuplicate, geo.Info, "repeated vertices dropped: %.0f", ""}
	case polygon.FixSpike:
		return remedy{geo.NoteSpike, geo.Info, "spike of %.2f m out and straight back dropped", ""}
	case polygon.FixTurned:
		return remedy{geo.NoteRingTurned, geo.Info, "ring around %.1f m2 turned to the usual direction", ""}
	case polygon.FixCrossing:
		return remedy{geo.NoteCrossingMended, geo.Caution, "ring crosses itself; a loop of %.3f m2 was dropped", "check the outline near this place"}
	case polygon.FixTouch:
		return remedy{geo.NoteTouchSplit, geo.Info, "ring touches itself; a part or hole of %.1f m2 was taken apart", ""}
	case polygon.FixSplit:
		return remedy{geo.NoteSplit, geo.Caution, "ring crosses itself and was split, as asked, into %.0f parts", "check that the parts are ground to plant"}
	case polygon.FixPartDropped:
		return remedy{geo.NotePartDropped, geo.Caution, "sliver of %.3f m2 dropped", ""}
	case polygon.FixHoleDropped:
		return remedy{geo.NoteHoleDropped, geo.Info, "hole without area dropped (%.0f m2)", ""}
	case polygon.FixHolesJoined:
		return remedy{geo.NoteHolesJoined, geo.Info, "overlapping holes joined; %.2f m2 were in both", ""}
	case polygon.FixHoleClipped:
		return remedy{geo.NoteHoleClipped, geo.Caution, "hole reaches %.3f m2 over the edge; cut out of the outline", ""}
	case polygon.FixIsland:
		return remedy{geo.NoteIsland, geo.Caution, "island of %.1f m2 in a hole made a part", "leave it out if it is not to be planted"}
	case polygon.FixStandstill:
		return remedy{geo.NoteStandstill, geo.Info, "%.0f vertices of a standstill made one", ""}
	case polygon.FixRunOn:
		return remedy{geo.NoteRunOn, geo.Caution, "the end, which runs %.2f m past the start of the ring, trimmed", "check the outline near its start"}
	default: // polygon.FixCutApart
		return remedy{geo.NoteTouchSplit, geo.Caution, "touching rings cut the ground apart into %.0f parts", ""}
	}
}

// fixed notes one repair, or refuses it under Strict.
func (b *builder) fixed(w where, x polygon.Fix) {
	r := remedyOf(x.Kind)
	at := b.frame.ToLonLat(x.At)
	text := fmt.Sprintf(r.text, x.Value)
	if x.Kind == polygon.FixStandstill || x.Kind == polygon.FixRunOn {
		text += fmt.Sprintf("; area changed by %.2f m2", x.ChangeM2)
	}
	if b.spec.Strict {
		e := w.input(x.Ring, x.Vertex+1, &at)
		e.Problem = "would need a repair, and repairs are refused: " + text
		e.Hint = "correct the file, or leave strict off"
		b.errs = append(b.errs, e)
		return
	}
	b.note(geo.Note{
		Code: r.code, Severity: r.severity, Place: w.place(x.Ring, x.Vertex+1, &at),
		Text: text, Hint: r.hint, Value: x.Value, Unit: x.Unit,
	})
}

// A drive log is thinned if it has more than manyVertices, or more than
// someVertices with sides shorter than shortSideM on average (common
// practice, no source).
const (
	manyVertices = 100_000
	someVertices = 1000
	shortSideM   = 0.05
)

// thin leaves out vertices of drive logs.
func (b *builder) thin(w where, p orb.Polygon) orb.Polygon {
	n := vertices(p)
	if n <= someVertices || n <= manyVertices && polygon.PerimeterM(p) > shortSideM*float64(n) {
		return p
	}
	q := make(orb.Polygon, len(p))
	for k, r := range p {
		q[k] = polygon.Thin(r, geo.ThinM)
	}
	m := vertices(q)
	if m == n || len(polygon.Faults(q)) > 0 {
		return p
	}
	if b.spec.Strict {
		e := w.input(0, 0, nil)
		e.Problem = fmt.Sprintf("%d vertices would be thinned to %d, and repairs are refused", n, m)
		b.errs = append(b.errs, e)
		return p
	}
	b.note(geo.Note{
		Code: geo.NoteThinned, Severity: geo.Info, Place: w.place(0, 0, nil),
		Text: fmt.Sprintf("%d vertices thinned to %d, straying at most %.0f mm; area changed by %.2g m2",
			n, m, geo.ThinM*1000, math.Abs(polygon.AreaM2(q)-polygon.AreaM2(p))),
		Value: float64(n - m), Unit: "vertices",
	})
	return q
}

func vertices(p orb.Polygon) (n int) {
	for _, r := range p {
		n += max(0, len(r)-1)
	}
	return n
}
