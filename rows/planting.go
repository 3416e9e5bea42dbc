package rows

import (
	"math"

	"github.com/paulmach/orb"

	"hemrow/geo"
)

// stations places the plants of the n-th row of a block (from 1) on a piece:
// for each kind that the row carries, the first at StartM from end A and then
// one every PitchM, as long as the last keeps StartM from end B. Distances
// are along the ground.
//
// With both ends planted, a length of L holds floor(L / pitch) + 1 plants.
func stations(plants []Planting, n int, pc *Piece) []Station {
	total := 0
	for _, pl := range plants {
		total += pl.count(n, pc.GroundM)
	}
	if total == 0 {
		return nil
	}
	out := make([]Station, 0, total)
	for k, pl := range plants {
		from := 1 // vertices rise with the chainage, so the search goes on from the last
		for i := range pl.count(n, pc.GroundM) {
			m := min(pl.StartM+float64(i)*pl.PitchM, pc.GroundM)
			var at orb.Point
			at, from = pc.Line.PointFrom(from, m)
			out = append(out, Station{Plant: k, ChainageM: m, At: at})
		}
	}
	return out
}

// count is how many plants of the kind stand on groundM of the n-th row.
func (pl Planting) count(n int, groundM float64) int {
	room := groundM - 2*pl.StartM
	if room < 0 || (n-1)%pl.Every != pl.From-1 {
		return 0
	}
	// a length that is a whole number of pitches but for rounding holds the
	// last plant
	return int(math.Floor((room+geo.CoincidentM)/pl.PitchM)) + 1
}

// noHeight marks a vertex without a height.
var noHeight = math.NaN()

// alleyLines are the centre lines of the cross alleys, from the first row of
// the block to the last that they pass.
func alleyLines(cut cutting, widthM float64) []orb.LineString {
	var out []orb.LineString
	for _, a := range cut.alleys {
		first, last := -1, -1
		for _, b := range cut.bits {
			if b.u0 <= a+widthM+geo.CoincidentM && b.u1 >= a-geo.CoincidentM {
				if first < 0 {
					first = b.row
				}
				last = b.row
			}
		}
		if first >= 0 {
			mid := a + widthM/2
			out = append(out, orb.LineString{cut.xy(mid, cut.rowV(first)), cut.xy(mid, cut.rowV(last))})
		}
	}
	return out
}
