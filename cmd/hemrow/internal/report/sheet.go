package report

import (
	"math"

	"hemrow/cmd/hemrow/internal/result"
)

// Everything on a sheet is in millimetres from its upper left corner, x to
// the right and y down.
const (
	marginMM = 10.0
	titleMM  = 43.0 // height of the title block at the foot
	insetMM  = 11.0 // left free around the field for numbers and names
	// On A4 rows nearer than this run together in a copy; then A3 is taken.
	closeRowsMM = 1.6
)

// sheet is a page and where local metres lie on it.
type sheet struct {
	paper  string
	w, h   float64
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

// newSheet chooses paper, direction and the largest round scale that fits; of
// two alike the one in the direction of the field.
func newSheet(d result.Document) sheet {
	b := boundsOf(d)
	pages := []sheet{{paper: "A4", w: 210, h: 297}, {paper: "A4", w: 297, h: 210}, {paper: "A3", w: 297, h: 420}, {paper: "A3", w: 420, h: 297}}
	if b.x1-b.x0 > b.y1-b.y0 {
		pages[0], pages[1], pages[2], pages[3] = pages[1], pages[0], pages[3], pages[2]
	}
	best := sheet{}
	for _, p := range pages {
		if p.paper == "A3" && best.paper == "A4" && closest(d)*best.mmPerM >= closeRowsMM {
			break
		}
		if p = p.fit(b); best.scale == 0 || p.scale < best.scale {
			best = p
		}
	}
	return best
}

// closest is the smallest spacing of rows in the document.
func closest(d result.Document) float64 {
	m := math.Inf(1)
	for _, b := range d.Blocks {
		m = min(m, b.SpacingM)
	}
	return m
}

// fit takes the largest round scale at which the box fits and centres it.
func (s sheet) fit(b bounds) sheet {
	roomW, roomH := s.w-2*marginMM-2*insetMM, s.h-2*marginMM-titleMM-2*insetMM
	need := 1000 * math.Max((b.x1-b.x0)/roomW, (b.y1-b.y0)/roomH)
	s.scale = roundScale(need)
	s.mmPerM = 1000 / float64(s.scale)
	s.ox = s.w/2 - (b.x0+b.x1)/2*s.mmPerM
	s.oy = marginMM + insetMM + roomH/2 + (b.y0+b.y1)/2*s.mmPerM
	return s
}

// roundScale is the next round scale, from 1 : 20 up.
func roundScale(need float64) int {
	hundredths := [...]int{100, 125, 150, 200, 250, 300, 400, 500, 750}
	need = max(need, 20)
	for ten := 10; ten < 1e8; ten *= 10 { // 1 : 75 000 000 shows a continent
		for _, h := range hundredths {
			if v := h * ten / 100; float64(v) >= need {
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
