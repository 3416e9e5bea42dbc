package crs

import (
	"math"
	"strconv"
	"strings"
)

// fileShift is the source of a shift that a text gives itself.
const fileShift = "TOWGS84 of the file"

// identify looks the system and its datum up in the table.
func (w *written) identify() (Definition, error) {
	t, err := epsg()
	if err != nil {
		return Definition{}, err
	}
	d, heightM := w.def, w.def.VerticalUnitM
	if base, ok := w.findBase(t); ok {
		if d.Method == 0 {
			d, _ = t.definition(base.Code)
		} else if line := w.findProjected(t, base); line != nil {
			d = t.parseProjected(line)
		} else {
			d.Base = base
		}
	} else if geocentricFigure(d.Base.Ellipsoid) {
		d.Base.Shift = &Shift{Null: true, Source: "no published set"}
	}
	d.VerticalUnitM = heightM
	if h := w.towgs84; h != nil && !(*h == Helmert{} && !geocentricFigure(d.Base.Ellipsoid)) && !sameShift(d.Base.Shift, *h) {
		d.Base.Shift = &Shift{Helmert: *h, Null: *h == Helmert{}, Source: fileShift}
	}
	return d, nil
}

// sameShift reports whether the table has the very set that a text gives, so
// that its stated accuracy may be kept.
func sameShift(s *Shift, h Helmert) bool {
	if s == nil || s.LonTurnSec != 0 {
		return false
	}
	const sameRatio = 1e-6 // of metres, seconds and parts per million: 30 µm on the ground
	a, b := s.Helmert, h
	for _, d := range []float64{
		a.DXM - b.DXM, a.DYM - b.DYM, a.DZM - b.DZM,
		a.RXSec - b.RXSec, a.RYSec - b.RYSec, a.RZSec - b.RZSec, a.ScalePPM - b.ScalePPM,
	} {
		if !(math.Abs(d) <= sameRatio) {
			return false
		}
	}
	return true
}

// geocentricFigure: datums on the figures made for the whole earth (GRS 1980,
// WGS 84, CGCS2000) have their centre within a metre or two of its own.
func geocentricFigure(e Ellipsoid) bool {
	for _, rf := range []float64{298.257222101, 298.257223563} {
		if sameFigure(e, Ellipsoid{6378137, rf}) {
			return true
		}
	}
	return false
}

// sameFigure: two figures whose axes differ by less than this are one; no
// position moves by more. GRS 1980 and WGS 84 differ by ten times as much.
func sameFigure(a, b Ellipsoid) bool {
	const sameM = 1e-5
	return math.Abs(a.SemiMajorM-b.SemiMajorM) < sameM && math.Abs(newFigure(a).bM-newFigure(b).bM) < sameM
}

// likeFigure is sameFigure with room for decimals cut from the flattening.
func (w *written) likeFigure(e Ellipsoid) bool {
	return sameFigure(w.def.Base.Ellipsoid, e) ||
		w.figure[0].meant(1, e.SemiMajorM) && w.figure[1].meant(1, e.InvFlatteningRatio)
}

// Fields of a G line after its letter.
const (
	gCode    = 0
	gName    = 1
	gDatum   = 2
	gFlags   = 7
	gDatumID = 10
	gOthers  = 11
)

// findBase finds the geographic system: by its code if the text has one, else
// by names; with the same figure, meridian and unit either way.
func (w *written) findBase(t *epsgTable) (Geographic, bool) {
	if line, ok := t.geographic[w.base]; ok {
		if g := t.parseGeographic(strings.Split(line, "\t")); w.likeBase(g) {
			return g, true
		}
	}
	name, datum := plainDatum(w.def.Base.Name), plainDatum(w.def.Base.Datum)
	best, bestScore := Geographic{}, 0
	for _, line := range t.geoLines {
		score := w.baseScore(line, name, datum)
		if score <= bestScore {
			continue
		}
		if g := t.parseGeographic(strings.Split(line, "\t")); w.likeBase(g) {
			best, bestScore = g, score
		}
	}
	return best, bestScore > 0
}

// baseScore says how well the names of a G line fit, 0 not at all. The name of
// the datum counts for more: that of the system is often the writer's own.
func (w *written) baseScore(line, name, datum string) (score int) {
	others := field(line, gOthers)
	known := func(s string, own int) bool {
		return s != "" && (samePlainDatum(s, field(line, own)) || hasKey(others, s))
	}
	if known(datum, gDatum) || w.datum != 0 && hasKey(field(line, gDatumID), strconv.Itoa(w.datum)) {
		score += 4
	}
	if known(name, gName) {
		score += 2
	}
	if score > 0 && !strings.Contains(field(line, gFlags), "d") {
		score++
	}
	return score
}

// likeBase reports whether a geographic system has the text's numbers.
func (w *written) likeBase(g Geographic) bool {
	const sameDeg = 1e-7 // a centimetre, the decimals to which meridians are written
	b := w.def.Base
	return w.likeFigure(g.Ellipsoid) && b.AngleDeg == g.AngleDeg && math.Abs(b.MeridianDeg-g.MeridianDeg) < sameDeg
}

// findProjected finds the projected system on the datum of base whose
// parameters are the text's, nil if none. Of several, which differ in the order
// of their axes or are out of date, it takes the one of the text's code, then
// of its name, then one that is in force with easting first.
func (w *written) findProjected(t *epsgTable, base Geographic) []string {
	datum := strings.Split(t.geographic[base.Code], "\t")[gDatumID]
	method := strconv.Itoa(int(w.def.Method))
	var best []string
	bestScore := -1
	name := plainName(w.def.Name)
	for _, line := range t.projLines {
		own, rest, _ := strings.Cut(tail(line, pMethod), "\t")
		if own != method || !w.likeParams(field(rest, 0)) {
			continue
		}
		f := strings.Split(line, "\t")
		if !w.likeAxes(f) {
			continue
		}
		baseLine := strings.Split(t.geographic[atoi(f[pBase])], "\t")
		if baseLine[gDatumID] != datum || !w.likeBase(t.parseGeographic(baseLine)) {
			continue
		}
		score := 0
		for i, yes := range []bool{
			!strings.Contains(f[pFlags], "n"), !strings.Contains(f[pFlags], "d"),
			atoi(f[pBase]) == base.Code, plainName(f[pName]) == name || strings.Contains(","+f[pOthers]+",", ","+name+","), atoi(f[pCode]) == w.code,
		} {
			if yes {
				score |= 1 << i
			}
		}
		if score > bestScore {
			best, bestScore = f, score
		}
	}
	return best
}

// field is one field of a line, without taking the others apart.
func field(line string, i int) string {
	line, _, _ = strings.Cut(tail(line, i), "\t")
	return line
}

// tail is a line from its field i on.
func tail(line string, i int) string {
	for range i {
		line = line[strings.IndexByte(line, '\t')+1:]
	}
	return line
}

// likeParams compares the parameters of a P line.
func (w *written) likeParams(list string) bool {
	for i, n := range w.params {
		var text string
		text, list, _ = strings.Cut(list, ",")
		v, turn := number(text), 0.0
		switch wktPlace(i) {
		case atLonOrigin, atAzimuth, atSkew: // by whole turns all the same
			turn = 360 * math.Round((n.value*w.units[i]-v)/360)
		}
		if !n.meant(w.units[i], v+turn) {
			return false
		}
	}
	return true
}

// likeAxes compares the unit and the directions of a P line.
func (w *written) likeAxes(f []string) bool {
	return w.unit.meant(1, number(f[pUnit])) && w.def.WestSouth == strings.Contains(f[pFlags], "w")
}
