package polygon

import (
	"math"

	"github.com/paulmach/orb"
)

// unitRoundoff is half the distance from 1 to the next float64, 2⁻⁵³.
const unitRoundoff = 0x1p-53

// orientBound times the size of the two products bounds the rounding error of
// the plain determinant: ccwerrboundA of J. R. Shewchuk, "Adaptive Precision
// Floating-Point Arithmetic and Fast Robust Geometric Predicates", Discrete &
// Computational Geometry 18 (1997), section 4.1.
const orientBound = (3 + 16*unitRoundoff) * unitRoundoff

// Orient is +1 if c lies left of the directed line a to b, -1 if right of it
// and 0 if the three are in line, decided exactly for finite coordinates whose
// products neither overflow nor underflow (metres on the earth never do).
// Non-finite coordinates give 0.
func Orient(a, b, c orb.Point) int {
	// The conversions keep the compiler from fusing the products, which the
	// error bound does not foresee.
	left := float64((a[0] - c[0]) * (b[1] - c[1]))
	right := float64((a[1] - c[1]) * (b[0] - c[0]))
	det := left - right
	if math.Abs(det) > orientBound*(math.Abs(left)+math.Abs(right)) {
		return sign(det)
	}
	if left == 0 && right == 0 { // a difference of floats is 0 only if they are equal
		return 0
	}
	return orientExact(a, b, c)
}

// orientExact sums the six products of the expanded determinant without any
// rounding, as an expansion of non-overlapping parts; the largest part that is
// not zero has the sign of the sum (Shewchuk 1997, theorem 10, GROW-EXPANSION).
func orientExact(a, b, c orb.Point) int {
	terms := [6][2]float64{
		{a[0], b[1]},
		{-a[0], c[1]},
		{-c[0], b[1]},
		{-a[1], b[0]},
		{a[1], c[0]},
		{c[1], b[0]},
	}
	var parts [12]float64
	n := 0
	for _, t := range terms {
		hi := float64(t[0] * t[1])
		lo := math.FMA(t[0], t[1], -hi)
		for _, q := range [2]float64{lo, hi} {
			for k := range n {
				q, parts[k] = twoSum(q, parts[k])
			}
			parts[n] = q
			n++
		}
	}
	for k := n - 1; k >= 0; k-- {
		if s := sign(parts[k]); s != 0 {
			return s
		}
	}
	return 0
}

// twoSum is a+b as a rounded sum and its exact error (Knuth; Shewchuk 1997,
// theorem 7).
func twoSum(a, b float64) (sum, err float64) {
	sum = a + b
	bv := sum - a
	av := sum - bv
	return sum, (a - av) + (b - bv)
}

func sign(x float64) int {
	switch {
	case x > 0:
		return 1
	case x < 0:
		return -1
	}
	return 0
}

// meeting says how two closed segments meet.
type meeting uint8

const (
	apart    meeting = iota
	touching         // in one point that is an end of at least one of them
	crossing         // in one point inside both
	overlap          // along a stretch
)

// meet decides exactly how ab and cd meet. For touching, at is the very end
// point; for crossing it is constructed; for overlap it is the first end of
// the stretch along ab.
func meet(a, b, c, d orb.Point) (m meeting, at orb.Point) {
	if !boxesMeet(a, b, c, d) {
		return apart, at
	}
	oc, od := Orient(a, b, c), Orient(a, b, d)
	if oc*od > 0 {
		return apart, at
	}
	oa, ob := Orient(c, d, a), Orient(c, d, b)
	if oa*ob > 0 {
		return apart, at
	}
	if oc == 0 && od == 0 {
		return meetInLine(a, b, c, d)
	}
	switch {
	case oc == 0:
		return touching, c
	case od == 0:
		return touching, d
	case oa == 0:
		return touching, a
	case ob == 0:
		return touching, b
	}
	return crossing, crossAt(a, b, c, d)
}

func boxesMeet(a, b, c, d orb.Point) bool {
	box := segBox(a, b)
	return !misses(c, d, &box)
}

// meetInLine handles four points in one line, whose boxes meet.
func meetInLine(a, b, c, d orb.Point) (meeting, orb.Point) {
	k := 0 // the axis along which ab is longer
	if math.Abs(b[1]-a[1]) > math.Abs(b[0]-a[0]) {
		k = 1
	}
	dir := b[k] >= a[k]
	if (d[k] >= c[k]) != dir {
		c, d = d, c
	}
	lo, hi := a, b
	if (c[k] > a[k]) == dir && c[k] != a[k] {
		lo = c
	}
	if (d[k] < b[k]) == dir && d[k] != b[k] {
		hi = d
	}
	switch {
	case lo[k] == hi[k]:
		return touching, lo
	case (hi[k] > lo[k]) == dir:
		return overlap, lo
	}
	return apart, orb.Point{}
}

// crossAt constructs the crossing of ab and cd relative to a, and keeps it in
// the box of ab so that rounding cannot carry it past an end.
func crossAt(a, b, c, d orb.Point) orb.Point {
	bx, by := b[0]-a[0], b[1]-a[1]
	dx, dy := d[0]-c[0], d[1]-c[1]
	cx, cy := c[0]-a[0], c[1]-a[1]
	den := bx*dy - by*dx
	if den == 0 { // crossing, yet parallel to rounding: any end is as good
		return c
	}
	t := (cx*dy - cy*dx) / den
	t = max(0, min(1, t))
	return orb.Point{a[0] + t*bx, a[1] + t*by}
}
