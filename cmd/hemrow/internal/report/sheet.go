package report

import (
	"math"

	"hemrow/cmd/hemrow/internal/result"
)

// Everything on a sheet is in millimetres from its upper left corner, x to
// the right and y down.
const (
	marginMM = 10.0
	titleMM  = 43.0 // least height of the title block at the foot
	columnMM = 60.0 // its width when it stands on the right
	insetMM  = 11.0 // left free around the field for numbers and names
	// On A4 rows nearer than this run together in a copy; then A3 is taken.
	closeRowsMM = 1.6
)

// sheet is a page and where local metres lie on it.
type sheet struct {
	paper  string
	w, h   float64
	column bool    // the title block stands on the right, not at the foot
	footMM float64 // its height at the foot
	scale  int     // 1 : scale
	mmPerM float64 // 1000 / scale
	ox, oy float64 // the page's place of local (0, 0)
}

// bounds is a box in local metres.
type bounds struct{ x0, y0, x1, y1 float64 }

func boundsOf(d result.Document) bounds {
	b := bounds{math.Inf(1), math.Inf(1), math.Inf(-1), math.Inf(-1)}
	for _, blk := range d.Blocks {
		for _, r := range blk.Outline.Local {
			for _, p := range r {
				b = bounds{min(b.x0, p[0]), min(b.y0, p[1]), max(b.x1, p[0]), max(b.y1, p[1])}
			}
		}
	}
	if b.x0 > b.x1 {
		return bounds{-1, -1, 1, 1}
	}
	return b
}

// newSheet chooses the page on which the field fits at the largest usual
// scale; of pages alike one in the direction of the field. It is the smaller of
// the two papers in use unless rows would run together there.
func newSheet(d result.Document) sheet {
	b := boundsOf(d)
	best := sheet{}
	foot, _ := footOf(keyLines((&drawing{doc: d}).keyEntries()))
	papers := papersOf(d.Units)
	for _, p := range pages(papers, b.x1-b.x0 > b.y1-b.y0) {
		if p.paper == papers[1].paper && best.paper == papers[0].paper && closest(d)*best.mmPerM >= closeRowsMM {
			break
		}
		p.footMM = foot
		if p = p.fit(b); best.scale == 0 || p.scale < best.scale {
			best = p
		}
	}
	return best
}

// papersOf are the smaller and the larger paper in use where the reader is: A4
// and A3 (ISO 216, 2007), or Letter and Tabloid (ANSI/ASME Y14.1, from memory).
func papersOf(units string) [2]sheet {
	if units == usUnits {
		return [2]sheet{{paper: "Letter", w: 215.9, h: 279.4}, {paper: "Tabloid", w: 279.4, h: 431.8}}
	}
	return [2]sheet{{paper: "A4", w: 210, h: 297}, {paper: "A3", w: 297, h: 420}}
}

// pages are the pages to try, in order: the smaller paper before the larger.
func pages(papers [2]sheet, wide bool) (list []sheet) {
	for _, p := range papers {
		across := sheet{paper: p.paper, w: p.h, h: p.w}
		column := across
		column.column = true
		if wide {
			list = append(list, across, column, p)
		} else {
			list = append(list, p, column, across)
		}
	}
	return list
}

// mapEnd is the lower right corner of the part of the page that the map has;
// its upper left one is the corner of the margins.
func (s sheet) mapEnd() point {
	if s.column {
		return point{s.w - marginMM - columnMM, s.h - marginMM}
	}
	return point{s.w - marginMM, s.h - marginMM - s.footMM}
}

// closest is the smallest spacing of rows in the document.
func closest(d result.Document) float64 {
	m := math.Inf(1)
	for _, b := range d.Blocks {
		m = min(m, b.SpacingM)
	}
	return m
}

// fit takes the largest usual scale at which the box fits and centres it.
func (s sheet) fit(b bounds) sheet {
	end := s.mapEnd()
	roomW, roomH := end.x-marginMM-2*insetMM, end.y-marginMM-2*insetMM
	need := 1000 * math.Max((b.x1-b.x0)/roomW, (b.y1-b.y0)/roomH)
	s.scale = usualScale(need)
	s.mmPerM = 1000 / float64(s.scale)
	s.ox = (marginMM+end.x)/2 - (b.x0+b.x1)/2*s.mmPerM
	s.oy = (marginMM+end.y)/2 + (b.y0+b.y1)/2*s.mmPerM
	return s
}

// usualScale is the largest scale in use for plans at which so much fits, from
// 1 : 20 on (common practice, no source).
func usualScale(need float64) int {
	for _, v := range [...]int{20, 25, 50, 100, 200, 250, 500, 1000, 1250, 1500, 2000, 2500, 5000} {
		if float64(v) >= need {
			return v
		}
	}
	for ten := 10_000; ten < 1e8; ten *= 10 { // 1 : 50 000 000 shows a continent
		for _, v := range [...]int{ten, 2 * ten, 5 * ten / 2, 5 * ten} {
			if float64(v) >= need {
				return v
			}
		}
	}
	return math.MaxInt32
}

// at is the page's place of local metres.
func (s sheet) at(p result.XY) point {
	return point{s.ox + p[0]*s.mmPerM, s.oy - p[1]*s.mmPerM}
}

// point is a place on the page.
type point struct{ x, y float64 }

func (p point) plus(d point, k float64) point { return point{p.x + k*d.x, p.y + k*d.y} }

// toward is the unit vector from a to b, up the page if they are one.
func toward(a, b point) point {
	dx, dy := b.x-a.x, b.y-a.y
	l := math.Hypot(dx, dy)
	if l == 0 {
		return point{0, -1}
	}
	return point{dx / l, dy / l}
}
