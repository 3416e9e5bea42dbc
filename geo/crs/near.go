package crs

import (
	"math"
	"slices"
	"strings"

	"hemrow/geo"
)

// Near is d with the datum's shift chosen for a place, where several are
// published for parts of the datum's area: of those whose area holds the place
// the one with the best stated accuracy, then the smallest area, then the
// newest variant. Without any the shift stays as it was, but is marked as made
// for another area. A shift that the file gave itself and a datum that is taken
// for WGS84 stay as they are. The shift also says how far another that is stated to be as
// good puts the place.
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
	datums := field(line, gDatumID)
	var all, here [][]string
	for _, f := range t.shifts {
		if f[sBox] == "" || !hasKey(datums, f[sDatum]) {
			continue
		}
		all = append(all, f)
		if parseBounds(f[sBox]).Contains(ll) {
			here = append(here, f)
		}
	}
	var s Shift
	if len(here) == 0 {
		s = *old
		s.Away, s.AccuracyM = true, 0
		s.SpreadM = d.spreadM(s, all, ll)
	} else {
		best := here[0]
		for _, f := range here[1:] {
			if betterShift(f, best) {
				best = f
			}
		}
		s = *parseShift(best)
		s.SpreadM = d.spreadM(s, here, ll)
	}
	d.Base.Shift = &s
	return d
}

// hasKey looks a key up in a list between commas.
func hasKey(list, key string) bool {
	for k := range strings.SplitSeq(list, ",") {
		if k == key {
			return true
		}
	}
	return false
}

// spreadM is how far from ll, where s puts a position, the sets of some lines
// put it: the farthest of those made for the place that are stated to be as
// good as s, if it is farther than that; with s.Away the middle one of all.
func (d Definition) spreadM(s Shift, lines [][]string, ll geo.LonLat) float64 {
	base, ok := s.make(d.Base.Ellipsoid).inverse(ll)
	if !ok {
		return 0
	}
	var offM []float64
	for _, f := range lines {
		other := parseShift(f)
		if other.Null || other.Source == s.Source || !s.Away && other.AccuracyM != s.AccuracyM {
			continue
		}
		if p, ok := other.make(d.Base.Ellipsoid).forward(base); ok {
			offM = append(offM, apartM(ll, p))
		}
	}
	if len(offM) == 0 {
		return 0
	}
	slices.Sort(offM)
	if s.Away {
		return offM[len(offM)/2]
	}
	if mostM := offM[len(offM)-1]; mostM > s.AccuracyM {
		return mostM
	}
	return 0
}

// apartM is the distance of two places that are near each other, on a sphere
// of the mean radius: within 1 %.
func apartM(a, b geo.LonLat) float64 {
	const radiusM = 6.371e6
	east := math.Remainder(a.LonDeg-b.LonDeg, 360) * math.Cos(a.LatDeg*radPerDegree)
	return radiusM * radPerDegree * math.Hypot(east, a.LatDeg-b.LatDeg)
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
