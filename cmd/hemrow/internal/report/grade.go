package report

import (
	"math"

	"hemrow/cmd/hemrow/internal/result"
)

// gradeColours are those of rows from level to steep: darker with every step,
// so that a grey copy and an eye that lacks a colour read them too.
var gradeColours = [...]string{"#3f9384", "#3571ab", "#5f4596", "#701a55", "#33040f"}

const (
	unknownColour = "#6b6b6b" // of rows on ground of unknown grade
	unknownDash   = "2.2 0.6"
	// gradeNarrow is the width of level rows and gradeWiden what a step adds, in
	// widths of rows without terrain: the steepest are twice as wide as level
	// ones, and still narrower than two thirds of the spacing.
	gradeNarrow = 0.8
	gradeWiden  = 0.2
	// thinMM is how far a drawn row may stray from the row: a fifth of the
	// thinnest line.
	thinMM = 0.02
	// brokenMM is half the size of the cross where a row is broken.
	brokenMM = 0.8
)

// graded reports whether the document knows grades along rows.
func (m *drawing) graded() bool {
	for _, r := range m.doc.Rows {
		for _, p := range r.Pieces {
			if len(p.Grades) > 0 {
				return true
			}
		}
	}
	return false
}

// hasUnknown reports whether some row has no grade.
func (m *drawing) hasUnknown() bool {
	for _, r := range m.doc.Rows {
		for _, p := range r.Pieces {
			for _, g := range p.Grades {
				if g.Step < 0 {
					return true
				}
			}
			if len(p.Grades) == 0 {
				return true
			}
		}
	}
	return false
}

// gradeStroke is the stroke of a step of grade, -1 for none known.
func gradeStroke(step int, widthMM float64) string {
	if step < 0 {
		return stroke(unknownColour, widthMM, unknownDash)
	}
	step = min(step, len(gradeColours)-1)
	return stroke(gradeColours[step], widthMM*(gradeNarrow+gradeWiden*float64(step)), rowDash)
}

// gradedRows draws rows by their grade, the steepest on top.
func (m *drawing) gradedRows() {
	for step := -1; step <= len(m.doc.GradeStepsPct); step++ {
		open := false
		for _, r := range m.doc.Rows {
			d := ""
			for _, p := range r.Pieces {
				d += m.stretches(p, step)
			}
			if d == "" {
				continue
			}
			if !open {
				m.put(`<g %s>`, gradeStroke(step, m.rowWidthMM()))
				open = true
			}
			m.put(`<path d="%s"/>`, d)
		}
		if open {
			m.put(`</g>`)
		}
	}
}

// stretches is the d of what a piece has of one step.
func (m *drawing) stretches(p result.Piece, step int) (d string) {
	if len(p.Grades) == 0 && step < 0 {
		return path(thinned(m.sheet.points(p.LineLocal)), false)
	}
	for _, g := range p.Grades {
		if g.Step == step {
			if s := path(thinned(m.sheet.points(stretch(p.LineLocal, g.FromPlanM, g.ToPlanM))), false); len(s) > 0 {
				d += s
			}
		}
	}
	return d
}

// stretch is the part of a line between two places along it.
func stretch(l []result.XY, fromM, toM float64) (out []result.XY) {
	var at float64
	for i := 1; i < len(l); i++ {
		a, b := l[i-1], l[i]
		d := math.Hypot(b[0]-a[0], b[1]-a[1])
		on := func(m float64) result.XY {
			t := max(0, min(1, (m-at)/d))
			return result.XY{a[0] + t*(b[0]-a[0]), a[1] + t*(b[1]-a[1])}
		}
		if d > 0 && at < toM && at+d > fromM {
			if len(out) == 0 {
				out = append(out, on(fromM))
			}
			out = append(out, on(toM))
		}
		at += d
	}
	return out
}

// thinned leaves out vertices that nobody sees on paper. It looks back over so
// many at most, so that its cost grows with the line only.
func thinned(pts []point) []point {
	const most = 64
	if len(pts) < 3 {
		return pts
	}
	out, from := []point{pts[0]}, 0
	for i := 1; i+1 < len(pts); i++ {
		for k := from + 1; k <= i; k++ {
			if i-from >= most || offSegment(pts[k], pts[from], pts[i+1]) > thinMM {
				out, from = append(out, pts[i]), i
				break
			}
		}
	}
	return append(out, pts[len(pts)-1])
}

// offSegment is the distance of p from the segment from a to b.
func offSegment(p, a, b point) float64 {
	dx, dy := b.x-a.x, b.y-a.y
	t := 0.0
	if l := dx*dx + dy*dy; l > 0 {
		t = max(0, min(1, ((p.x-a.x)*dx+(p.y-a.y)*dy)/l))
	}
	return math.Hypot(p.x-a.x-t*dx, p.y-a.y-t*dy)
}

// gradeKey is the entry of the key for rows by grade: a scale of the steps,
// with their limits below.
func (m *drawing) gradeKey() keyEntry {
	const stepMM, sizeMM = 9.2, 2.1
	return keyEntry{text: "row by its grade, in %", lines: 2, wide: true, draw: func(x, y float64) {
		for step := range len(m.doc.GradeStepsPct) + 1 {
			at := x + stepMM*float64(step)
			m.put(`<path %s d="M%s %sH%s"/>`, gradeStroke(step, math.Max(0.3, m.rowWidthMM())), mmText(at), mmText(y-1.1), mmText(at+stepMM-0.6))
			text := "above"
			if step < len(m.doc.GradeStepsPct) {
				text = "to " + decimals(m.doc.GradeStepsPct[step], 2)
			}
			m.letter(lettering{text: text, at: point{at + (stepMM-0.6)/2, y + 1.4}, sizeMM: sizeMM, anchor: "middle"})
		}
	}}
}

// gapsOf are the places where the rows laid of all blocks are broken.
func gapsOf(d result.Document) (list []result.Gap) {
	for _, b := range d.Blocks {
		if c := laidOf(b); c != nil {
			list = append(list, c.Gaps...)
		}
	}
	return list
}

// laidOf is the candidate laid on a block, nil where there was no choice.
func laidOf(b result.Block) *result.Candidate {
	if b.Curved == nil {
		return nil
	}
	for i := range b.Curved.Candidates {
		if c := &b.Curved.Candidates[i]; c.Laid {
			return c
		}
	}
	return nil
}

// broken marks the places where rows are broken.
func (m *drawing) broken() {
	for _, g := range gapsOf(m.doc) {
		m.brokenMark(m.sheet.at(g.Local))
	}
}

// brokenMark is a small cross.
func (m *drawing) brokenMark(at point) {
	d := ""
	for _, s := range crossOf(at) {
		d += path(s[:], false)
	}
	m.put(`<path %s d="%s"/>`, stroke(paperColour, 0.9, ""), d)
	m.put(`<path %s d="%s"/>`, stroke(inkColour, 0.4, ""), d)
}

func crossOf(at point) [2][2]point {
	return [2][2]point{
		{{at.x - brokenMM, at.y - brokenMM}, {at.x + brokenMM, at.y + brokenMM}},
		{{at.x - brokenMM, at.y + brokenMM}, {at.x + brokenMM, at.y - brokenMM}},
	}
}
