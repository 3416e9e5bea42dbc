package wkt

import (
	"fmt"
	"math"

	"hemrow/geo"
	"hemrow/geo/format"
)

// Found counts what was met beside the shapes of a geometry.
type Found struct {
	Code        int // of the SRID, 0 if there is none
	Empty       int // empty shapes, left out
	Measures    int // positions with a measure, dropped
	NoHeights   int // positions without a height where others have one
	ZeroHeights int // heights of 0 where there is no other, taken as none
}

// Add sums the counts; Code stays.
func (f *Found) Add(g Found) {
	f.Empty += g.Empty
	f.Measures += g.Measures
	f.NoHeights += g.NoHeights
	f.ZeroHeights += g.ZeroHeights
}

// Notes puts the counts in words; where is the file, or file and feature.
func (f Found) Notes(where string) geo.Notes {
	var out geo.Notes
	add := func(n int, code geo.Code, s geo.Severity, unit, text, hint string) {
		if n > 0 {
			out = append(out, geo.Note{
				Code: code, Severity: s, Place: where, Text: fmt.Sprintf(text, geo.Counted(n, unit)),
				Hint: hint, Value: float64(n), Unit: unit + "s",
			})
		}
	}
	add(f.Empty, geo.NoteGeometryLeft, geo.Info, "shape", "left out: %s without any position", "")
	add(f.Measures, geo.NoteMeasureLeft, geo.Info, "position", "measures (M) were dropped at %s", "")
	add(f.NoHeights, geo.NoteHeightMissing, geo.Caution, "position",
		"no height (missing, -9999, beyond 1e30 or not a number) at %s where one is expected", "survey these again if their heights are needed")
	add(f.ZeroHeights, geo.NoteHeightMissing, geo.Info, "position",
		"heights are exactly 0 at %s and there is no other: taken as not known", "")
	return out
}

// heights counts the heights of one geometry.
type heights struct{ flat, none, zero, high int }

// count tallies the height of c, and takes out one that stands for none.
func (h *heights) count(c *format.Coord, written bool) {
	switch {
	case !written:
		h.flat++
	case format.IsNoHeight(c.Z):
		c.Z = math.NaN()
		h.none++
	case c.Z == 0:
		h.zero++
	default:
		h.high++
	}
}

// settleHeights decides what missing heights and heights of 0 mean, when all
// are known.
func (p *parser) settleHeights() {
	h := p.seen
	if h.zero > 0 && h.high == 0 {
		p.found.ZeroHeights = h.zero
		each(p.f, func(c *format.Coord) { c.Z = math.NaN() })
	}
	p.found.NoHeights = h.none
	if h.high+h.zero+h.none > 0 && p.found.ZeroHeights == 0 {
		p.found.NoHeights += h.flat
	}
}

// each visits every position of f.
func each(f format.Feature, visit func(*format.Coord)) {
	for i := range f.Points {
		visit(&f.Points[i])
	}
	for _, l := range f.Lines {
		for i := range l {
			visit(&l[i])
		}
	}
	for _, p := range f.Polygons {
		for _, r := range p {
			for i := range r {
				visit(&r[i])
			}
		}
	}
}
