package terrain

import (
	"math"
	"math/bits"

	"github.com/paulmach/orb"

	"hemrow/geo"
)

// Vertices of a triangulation lie on the lattice of geo.LatticeM, within
// mostM of the frame's origin. The difference of two coordinates is then a
// whole number of steps below 2⁵³, which a float64 holds without rounding.
const mostM = (1 << 51) * geo.LatticeM

// onLattice is x at the nearest lattice step; ok is false for a coordinate
// that is not finite or farther than mostM.
func onLattice(x float64) (y float64, ok bool) {
	if !(math.Abs(x) <= mostM) {
		return 0, false
	}
	return math.RoundToEven(x/geo.LatticeM)*geo.LatticeM + 0, true // + 0: no -0
}

// inCircleBound times the permanent bounds the rounding error of the plain
// determinant: iccerrboundA of J. R. Shewchuk, "Adaptive Precision
// Floating-Point Arithmetic and Fast Robust Geometric Predicates", Discrete &
// Computational Geometry 18 (1997), section 4.3.
const inCircleBound = (10 + 96*0x1p-53) * 0x1p-53

// inCircle is +1 if d lies inside the circle through a, b and c, which turn
// left, -1 if outside and 0 if on it, decided exactly for lattice points.
func inCircle(a, b, c, d orb.Point) int {
	ax, ay := a[0]-d[0], a[1]-d[1]
	bx, by := b[0]-d[0], b[1]-d[1]
	cx, cy := c[0]-d[0], c[1]-d[1]
	// The conversions keep the compiler from fusing the products, which the
	// error bound does not foresee.
	bxcy, cxby := float64(bx*cy), float64(cx*by)
	cxay, axcy := float64(cx*ay), float64(ax*cy)
	axby, bxay := float64(ax*by), float64(bx*ay)
	al := float64(ax*ax) + float64(ay*ay)
	bl := float64(bx*bx) + float64(by*by)
	cl := float64(cx*cx) + float64(cy*cy)
	det := float64(al*(bxcy-cxby)) + float64(bl*(cxay-axcy)) + float64(cl*(axby-bxay))
	size := (math.Abs(bxcy)+math.Abs(cxby))*al +
		(math.Abs(cxay)+math.Abs(axcy))*bl +
		(math.Abs(axby)+math.Abs(bxay))*cl
	switch limit := inCircleBound * size; {
	case det > limit:
		return 1
	case det < -limit:
		return -1
	}
	return inCircleExact([6]float64{ax, ay, bx, by, cx, cy})
}

// inCircleExact evaluates the determinant in whole lattice steps: differences
// below 2⁵³, products below 2¹⁰⁸, the sum below 2²¹⁹.
func inCircleExact(diffs [6]float64) int {
	var v [6]int64
	for i, d := range diffs {
		v[i] = int64(d / geo.LatticeM) // both exact
	}
	ax, ay, bx, by, cx, cy := v[0], v[1], v[2], v[3], v[4], v[5]
	sum := mul256(dot(ax, ax, ay, ay), dot(bx, cy, -cx, by))
	sum = sum.plus(mul256(dot(bx, bx, by, by), dot(cx, ay, -ax, cy)))
	sum = sum.plus(mul256(dot(cx, cx, cy, cy), dot(ax, by, -bx, ay)))
	return sum.sign()
}

// int128 and int256 are whole numbers in two's complement, lowest word first.
type (
	int128 [2]uint64
	int256 [4]uint64
)

// dot is a*b + c*d.
func dot(a, b, c, d int64) int128 {
	p, q := mul128(a, b), mul128(c, d)
	lo, carry := bits.Add64(p[0], q[0], 0)
	hi, _ := bits.Add64(p[1], q[1], carry)
	return int128{lo, hi}
}

func mul128(a, b int64) int128 {
	hi, lo := bits.Mul64(uint64(a), uint64(b))
	// A negative factor stands for itself plus 2⁶⁴; take the excess off again.
	hi -= uint64(a>>63)&uint64(b) + uint64(b>>63)&uint64(a)
	return int128{lo, hi}
}

// mul256 is a*b.
func mul256(a, b int128) int256 {
	neg := false
	if int64(a[1]) < 0 {
		a, neg = a.minus(), !neg
	}
	if int64(b[1]) < 0 {
		b, neg = b.minus(), !neg
	}
	var out int256
	for i, x := range a {
		var carry uint64
		for j, y := range b {
			hi, lo := bits.Mul64(x, y)
			var c uint64
			lo, c = bits.Add64(lo, out[i+j], 0)
			hi += c
			lo, c = bits.Add64(lo, carry, 0)
			out[i+j], carry = lo, hi+c
		}
		out[i+2] += carry
	}
	if neg {
		return out.minus()
	}
	return out
}

func (a int128) minus() int128 {
	lo, borrow := bits.Sub64(0, a[0], 0)
	hi, _ := bits.Sub64(0, a[1], borrow)
	return int128{lo, hi}
}

func (a int256) minus() (out int256) {
	var borrow uint64
	for i := range a {
		out[i], borrow = bits.Sub64(0, a[i], borrow)
	}
	return out
}

func (a int256) plus(b int256) (out int256) {
	var carry uint64
	for i := range a {
		out[i], carry = bits.Add64(a[i], b[i], carry)
	}
	return out
}

func (a int256) sign() int {
	switch {
	case int64(a[3]) < 0:
		return -1
	case a == int256{}:
		return 0
	}
	return 1
}
