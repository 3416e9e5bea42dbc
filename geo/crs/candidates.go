package crs

import (
	"cmp"
	"math"
	"slices"
	"strings"

	"hemrow/geo"
)

// maxCandidates is as many proposals as a reader looks at.
const maxCandidates = 8

// Candidates are systems in which the coordinates x, y (easting first) lie
// inside the system's own area of use: proposals for a file that does not name
// its system, at most eight. Considered are national grids that are in force,
// in metres or feet, and the zones of UTM on WGS 84 and ETRS89.
//
// With near, a place the field is known to be about, they are those that put
// the coordinates within half a degree of it, by distance; without it systems of small areas come first, which are the less
// likely to fit by chance. Coordinates that could be longitude and latitude
// give WGS 84 first.
func Candidates(x, y float64, near *geo.LonLat) []Definition { //unit:the file's
	t, err := epsg()
	if err != nil || math.IsNaN(x+y) || math.IsInf(x+y, 0) {
		return nil
	}
	var found []candidate
	if math.Abs(x) <= 180 && math.Abs(y) <= 90 {
		if d, ok := t.definition(4326); ok {
			return []Definition{d}
		}
	}
	for _, line := range t.projLines {
		f := strings.Split(line, "\t")
		if f[pBox] == "" || !proposable(f) {
			continue
		}
		d := t.parseProjected(f)
		if c, ok := candidateAt(d, XY{x, y}, near); ok {
			found = append(found, c)
		}
	}
	slices.SortStableFunc(found, func(a, b candidate) int {
		return cmp.Or(cmp.Compare(a.rank, b.rank), cmp.Compare(a.d.Code, b.d.Code))
	})
	out := make([]Definition, 0, maxCandidates)
	for _, c := range found[:min(len(found), maxCandidates)] {
		out = append(out, c.d)
	}
	return out
}

type candidate struct {
	d    Definition
	rank float64 //unit:degrees from near, or a measure of area
}

// proposable leaves out systems that are out of date or mere zones of a continent's map.
func proposable(f []string) bool {
	if strings.Contains(f[pFlags], "d") {
		return false
	}
	if strings.Contains(f[pName], "UTM zone") {
		return (f[pBase] == "4326" || f[pBase] == "4258") && !strings.ContainsAny(f[pName], "()")
	}
	return f[pBase] != "4326"
}

// nearDeg is how far from the known place a proposal may put the coordinates:
// half a degree, 55 km, beyond any field that is taken and short of the next
// zone.
const nearDeg = 0.5

// candidateAt places p in a system, if it lies where the system is meant for.
func candidateAt(d Definition, p XY, near *geo.LonLat) (candidate, bool) {
	s, err := New(d)
	if err != nil {
		return candidate{}, false
	}
	ll, ok := s.ToWGS84(p)
	if !ok || !d.Bounds.Contains(ll) {
		return candidate{}, false
	}
	c := candidate{d: d, rank: boxSize(*d.Bounds)}
	if near != nil {
		east := math.Remainder(ll.LonDeg-near.LonDeg, 360) * math.Cos(near.LatDeg*radPerDegree)
		if c.rank = math.Hypot(east, ll.LatDeg-near.LatDeg); c.rank > nearDeg {
			return candidate{}, false
		}
	}
	return c, true
}
