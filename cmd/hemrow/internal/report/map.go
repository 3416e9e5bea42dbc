package report

import (
	"math"

	"hemrow/cmd/hemrow/internal/result"
)

// MapSVG draws the layout to a usual scale on one page of A4 or A3, to be
// printed at full size and taken to the field. Coordinates are millimetres on
// the paper; north is up. It is SVG 1.1 without scripts, pictures or fonts of
// its own, and the same document gives the same bytes.
//
// With terrain rows are coloured by their grade. Row numbers stand at both ends
// of a row, along it. Where rows lie too close on the paper only round numbers
// are written, and always those of the first and last row of each block.
func MapSVG(d result.Document) []byte {
	m := drawing{doc: d, sheet: newSheet(d)}
	m.head()
	m.put(`<g clip-path="url(#map)">`)
	m.ground()
	m.levels()
	m.alleys()
	m.obstacles()
	m.rows()
	m.broken()
	m.edges()
	m.lettering()
	m.put(`</g>`)
	m.titleBlock()
	m.put(`</svg>`)
	return []byte(m.String())
}

type drawing struct {
	canvas
	doc   result.Document
	sheet sheet
}

func (m *drawing) head() {
	s := m.sheet
	m.put(`<?xml version="1.0" encoding="UTF-8"?>`)
	m.put(`<svg xmlns="http://www.w3.org/2000/svg" version="1.1" width="%smm" height="%smm" viewBox="0 0 %s %s" font-family="sans-serif" fill="%s">`,
		mmText(s.w), mmText(s.h), mmText(s.w), mmText(s.h), inkColour)
	m.put(`<title>%s</title>`, escaped(named(m.doc.Field.Name, "Field")+": rows, 1 : "+itoa(s.scale)))
	m.put(`<defs>`)
	m.put(`<pattern id="obstacle" width="1.5" height="1.5" patternUnits="userSpaceOnUse" patternTransform="rotate(45)">`)
	m.put(`<rect width="1.5" height="1.5" fill="%s"/>`, rockColour)
	m.put(`<path d="M0.75 0V1.5M0 0.75H1.5" stroke="%s" stroke-width="0.2"/>`, obstacleColour)
	m.put(`</pattern>`)
	m.put(`<clipPath id="map"><rect x="%s" y="%s" width="%s" height="%s"/></clipPath>`,
		mmText(marginMM), mmText(marginMM), mmText(s.mapEnd().x-marginMM), mmText(s.mapEnd().y-marginMM))
	m.put(`</defs>`)
	m.put(`<rect width="%s" height="%s" fill="%s"/>`, mmText(s.w), mmText(s.h), paperColour)
}

// hasHeadland reports whether the document knows the working area.
func (m *drawing) hasHeadland() bool { return m.doc.Field.WorkingAreaM2 != nil }

// ground fills the field: tint for headland and clearances, paper where rows
// may run.
func (m *drawing) ground() {
	for _, b := range m.doc.Blocks {
		fill := paperColour
		if m.hasHeadland() {
			fill = headColour
		}
		m.put(`<path fill="%s" fill-rule="evenodd" d="%s"/>`, fill, m.sheet.area(b.Outline))
		for _, w := range b.WorkingArea {
			m.put(`<path fill="%s" fill-rule="evenodd" d="%s"/>`, paperColour, m.sheet.area(w))
		}
	}
}

// levels draws level lines under everything that is planned, every fifth one
// heavier.
func (m *drawing) levels() {
	t := m.doc.Terrain
	if t == nil || len(t.Levels) == 0 {
		return
	}
	for _, heavy := range []bool{false, true} {
		d := ""
		for _, l := range t.Levels {
			if m.heavyLevel(l.HeightM) == heavy {
				d += path(m.sheet.points(l.Local), false)
			}
		}
		if d != "" {
			m.put(`<path %s d="%s"/>`, m.levelStroke(heavy), d)
		}
	}
}

// heavyLevel reports whether a level is a whole number of five intervals.
func (m *drawing) heavyLevel(heightM float64) bool {
	n := math.Round(heightM / m.doc.Terrain.IntervalM)
	return math.Mod(n, 5) == 0
}

func (m *drawing) levelStroke(heavy bool) string {
	if heavy {
		return stroke(levelColour, 0.3, "")
	}
	return stroke(levelColour, 0.15, "")
}

// obstacles hatches obstacles and holes.
func (m *drawing) obstacles() {
	for _, b := range m.doc.Blocks {
		for _, hole := range holes(b.Outline) {
			m.put(`<path fill="url(#obstacle)" d="%s"/>`, path(m.sheet.points(hole), true))
		}
	}
	for _, o := range m.doc.Field.Obstacles {
		if o.Area != nil {
			m.put(`<path fill="url(#obstacle)" fill-rule="evenodd" d="%s"/>`, m.sheet.area(*o.Area))
		}
	}
}

// holes are the rings of a shape behind the first.
func holes(s result.Shape) [][]result.XY { return s.Local[min(1, len(s.Local)):] }

func (m *drawing) alleys() {
	for _, b := range m.doc.Blocks {
		for _, a := range b.Alleys {
			m.put(`<path %s stroke-linecap="round" d="%s"/>`, stroke(alleyColour, 0.5, alleyDash), path(m.sheet.points(a.Local), false))
		}
	}
}

// rowWidthMM keeps rows apart on the paper, whatever the scale.
func (m *drawing) rowWidthMM() float64 {
	return math.Max(0.1, math.Min(0.35, 0.35*closest(m.doc)*m.sheet.mmPerM))
}

func (m *drawing) rows() {
	if m.graded() {
		m.gradedRows()
		return
	}
	m.put(`<g %s>`, stroke(rowColour, m.rowWidthMM(), rowDash))
	for _, r := range m.doc.Rows {
		d := ""
		for _, p := range r.Pieces {
			d += path(m.sheet.points(p.LineLocal), false)
		}
		m.put(`<path d="%s"/>`, d)
	}
	m.put(`</g>`)
}

// edges draws outlines and the edges of obstacles over everything else.
func (m *drawing) edges() {
	for _, o := range m.doc.Field.Obstacles {
		switch {
		case o.Area != nil:
			m.put(`<path %s d="%s"/>`, stroke(obstacleColour, 0.4, obstacleDash), m.sheet.area(*o.Area))
		case o.Path != nil && len(o.Path.Local) == 1:
			p := m.sheet.at(o.Path.Local[0])
			m.put(`<circle cx="%s" cy="%s" r="0.8" fill="%s" stroke="%s" stroke-width="0.4"/>`, mmText(p.x), mmText(p.y), rockColour, obstacleColour)
		case o.Path != nil:
			m.put(`<path %s d="%s"/>`, stroke(obstacleColour, 0.8, obstacleDash), path(m.sheet.points(o.Path.Local), false))
		}
	}
	for _, b := range m.doc.Blocks {
		for _, hole := range holes(b.Outline) {
			m.put(`<path %s d="%s"/>`, stroke(obstacleColour, 0.4, obstacleDash), path(m.sheet.points(hole), true))
		}
		for _, outer := range b.Outline.Local[:min(1, len(b.Outline.Local))] {
			m.put(`<path %s d="%s"/>`, stroke(inkColour, 0.55, outlineDash), path(m.sheet.points(outer), true))
		}
	}
}

// place decides where all lettering of the map stands.
func (m *drawing) place() labels {
	l := labels{crowd: newCrowd(m.sheet.mapEnd()), sheet: m.sheet}
	add := func(local []result.XY) {
		pts := m.sheet.points(local)
		for i := 1; i < len(pts); i++ {
			l.addLine(pts[i-1], pts[i])
		}
	}
	for _, b := range m.doc.Blocks {
		for _, r := range b.Outline.Local {
			add(r)
		}
	}
	for _, o := range m.doc.Field.Obstacles {
		if o.Area != nil {
			for _, r := range o.Area.Local {
				add(r)
			}
		} else if o.Path != nil {
			add(o.Path.Local)
		}
	}
	for _, r := range m.doc.Rows {
		for _, p := range r.Pieces {
			add(p.LineLocal)
		}
	}
	for _, g := range gapsOf(m.doc) {
		for _, s := range crossOf(m.sheet.at(g.Local)) {
			l.addLine(s[0], s[1])
		}
	}
	l.rowNumbers(m.doc)
	m.heights(&l)
	for i := range m.doc.Blocks {
		l.endMarks(m.doc, i)
	}
	m.names(&l)
	return l
}

// heights writes the height of the longest line of each heavy level.
func (m *drawing) heights(l *labels) {
	t := m.doc.Terrain
	if t == nil {
		return
	}
	longest := map[float64][]result.XY{}
	for _, v := range t.Levels {
		if m.heavyLevel(v.HeightM) && len(v.Local) > len(longest[v.HeightM]) {
			longest[v.HeightM] = v.Local
		}
	}
	for _, v := range t.Levels { // in their order, so that the bytes are the same
		if line := longest[v.HeightM]; line != nil {
			l.level(amount(v.HeightM, "m", m.doc.Units), line)
			delete(longest, v.HeightM)
		}
	}
}

func (m *drawing) names(l *labels) {
	for _, o := range m.doc.Field.Obstacles {
		switch {
		case o.Area != nil:
			l.name(o.Name, boundsOfRing(o.Area.Local[0]), false, true)
		case o.Path != nil:
			l.name(o.Name, boundsOfRing(o.Path.Local), false, false)
		}
	}
	if len(m.doc.Blocks) > 1 {
		for _, b := range m.doc.Blocks {
			l.name(b.Name, boundsOfRing(b.Outline.Local[0]), true, false)
		}
	}
}

func boundsOfRing(r []result.XY) bounds {
	b := bounds{r[0][0], r[0][1], r[0][0], r[0][1]}
	for _, p := range r {
		b = bounds{min(b.x0, p[0]), min(b.y0, p[1]), max(b.x1, p[0]), max(b.y1, p[1])}
	}
	return b
}

func (m *drawing) lettering() {
	l := m.place()
	for _, t := range l.out {
		m.letter(t)
	}
	for _, e := range l.ends {
		m.endMark(e.letter, e.at)
	}
}

// endMark draws the letter of a row end in its ring.
func (m *drawing) endMark(letter string, at point) {
	m.put(`<circle cx="%s" cy="%s" r="%s" fill="%s" stroke="%s" stroke-width="0.3"/>`,
		mmText(at.x), mmText(at.y), mmText(endMM-0.2), paperColour, inkColour)
	m.letter(lettering{text: letter, at: point{at.x, at.y + 0.95}, sizeMM: 2.6, anchor: "middle", bold: true})
}
