package crs

import (
	"math"
	"strings"

	"hemrow/geo"
)

// Near is d with the datum's shift chosen for a place, where several are
// published for parts of the datum's area: of those whose area holds the place
// the one with the best stated accuracy, then the smallest area, then the
// newest variant. Without any the shift stays as it was; so do a shift that
// the file gave itself and a datum that is taken for WGS84.
//
// A shift that is a few metres off still tells the place, so that a field is
// placed once by d and then by d.Near of its first position.
func (d Definition) Near(ll geo.LonLat) Definition {
	old := d.Base.Shift
	t, err := epsg()
	if err != nil || old == nil || old.Null || !strings.HasPrefix(old.Source, "EPSG:") {
		return d
	}
	line, ok := t.geographic[d.Base.Code]
	if !ok {
		return d
	}
	datum := strings.Split(line, "\t")[10]
	var best []string
	for _, f := range t.shifts {
		if f[sDatum] != datum || f[sBox] == "" || !parseBounds(f[sBox]).Contains(ll) {
			continue
		}
		if best == nil || betterShift(f, best) {
			best = f
		}
	}
	if best != nil {
		d.Base.Shift = parseShift(best)
	}
	return d
}

// betterShift compares two lines; equal ones stay in the order of the table.
func betterShift(a, b []string) bool {
	x, y := number(a[sAccuracy]), number(b[sAccuracy])
	if x != y {
		return x != 0 && (y == 0 || x < y)
	}
	return boxSize(*parseBounds(a[sBox])) < boxSize(*parseBounds(b[sBox]))
}

// boxSize is a measure of area to compare boxes by.
func boxSize(b Bounds) float64 { //unit:square degrees at the equator
	width := b.EastDeg - b.WestDeg
	if width < 0 {
		width += 360
	}
	return width * (math.Sin(b.NorthDeg*radPerDegree) - math.Sin(b.SouthDeg*radPerDegree))
}
