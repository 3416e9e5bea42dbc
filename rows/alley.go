package rows

import (
	"slices"

	"hemrow/geo"
)

// alleys places the fewest cross alleys, each widthM along the rows, that
// leave no piece longer than longestM, and among those the most even: the
// longest piece left is as short as it can be. Alleys line up across all rows
// and divide every piece they meet, so that they can be driven from one side
// of the block to the other. The result is where each begins along the rows,
// ascending.
//
// The fewest are found by sweeping along the rows and putting each alley as
// far on as the most pressing piece allows (the usual greedy argument: no
// later place serves that piece, and no earlier one serves others better).
// Evenness is found by bisection over the longest piece with the same number.
func alleys(bits []bit, longestM, widthM, shortestM float64) []float64 {
	best := alleysFor(bits, longestM, widthM)
	if len(best) == 0 {
		return nil
	}
	lo, hi := max(shortestM, widthM, geo.CoincidentM), longestM
	for range 40 { // 2^-40 of the longest run is below any survey
		mid := (lo + hi) / 2
		if hi-lo < geo.SurveySnapM {
			break
		}
		if a := alleysFor(bits, mid, widthM); len(a) <= len(best) {
			best, hi = a, mid
		} else {
			lo = mid
		}
	}
	return best
}

// alleysFor is the greedy sweep for one longest piece.
func alleysFor(bits []bit, longestM, widthM float64) []float64 {
	long := make([]interval, 0, len(bits))
	for _, b := range bits {
		if b.u1-b.u0 > longestM {
			long = append(long, interval{b.u0, b.u1})
		}
	}
	var at []float64
	for len(long) > 0 {
		next := long[0].lo + longestM
		for _, p := range long {
			next = min(next, p.lo+longestM)
		}
		at = append(at, next)
		end := next + widthM
		for i := range long {
			if p := &long[i]; p.lo < end {
				p.lo = end // what is left of it lies behind the alley
			}
		}
		long = slices.DeleteFunc(long, func(p interval) bool { return p.hi-p.lo <= longestM })
	}
	return at
}

// divide cuts every piece at the alleys it meets; the result is new.
func divide(bits []bit, alleys []float64, widthM float64) (out []bit, divided int) {
	if len(alleys) == 0 {
		return bits, 0
	}
	out = make([]bit, 0, len(bits)+len(bits)/2)
	for _, b := range bits {
		met := false
		for _, a := range alleys {
			if a >= b.u1 || a+widthM <= b.u0 {
				continue
			}
			met = true
			if a-b.u0 > geo.CoincidentM {
				out = append(out, bit{b.row, b.u0, a})
			}
			b.u0 = min(b.u1, a+widthM)
		}
		if b.u1-b.u0 > geo.CoincidentM {
			out = append(out, b)
		}
		if met {
			divided++
		}
	}
	return out, divided
}
