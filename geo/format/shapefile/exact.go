package shapefile

import (
	"math"
	"math/big"

	"hemrow/geo/format"
)

// Exact signs. A floating point result is believed when it is larger than what
// rounding can have done to it; else it is computed again without rounding.
const (
	// unitRound is the largest relative error of one operation.
	unitRound = 0x1p-53
	// orientBound is the error of the determinant below, as a share of the sum
	// of the sizes of its two products (Shewchuk, Adaptive Precision
	// Floating-Point Arithmetic and Fast Robust Geometric Predicates, 1997,
	// ccwerrboundA in section 4).
	orientBound = (3 + 16*unitRound) * unitRound
	// leastSize keeps underflow, which the bounds leave out, far away.
	leastSize = 0x1p-900
	// exactBits hold every sum of products of float64: from 2^-2148 to 2^2048
	// and room for 2^64 terms.
	exactBits = 4400
)

// orientation is 1 when p lies to the left of the way from a to b, -1 to the
// right, 0 on the line.
func orientation(a, b, p format.Coord) int {
	l := (a.X - p.X) * (b.Y - p.Y)
	r := (a.Y - p.Y) * (b.X - p.X)
	size := math.Abs(l) + math.Abs(r)
	if det := float64(l) - float64(r); size > leastSize && math.Abs(det) > orientBound*size && !math.IsInf(size, 0) {
		return sign(det)
	}
	// a×b + b×p + p×a
	var sum big.Float
	sum.SetPrec(exactBits)
	addCross(&sum, a, b)
	addCross(&sum, b, p)
	addCross(&sum, p, a)
	return sum.Sign()
}

// addCross adds a.X*b.Y - b.X*a.Y without rounding.
func addCross(sum *big.Float, a, b format.Coord) {
	product := func(x, y float64) *big.Float { //unit:the file's
		var p big.Float
		return p.SetPrec(2*53).Mul(big.NewFloat(x), big.NewFloat(y))
	}
	sum.Add(sum, product(a.X, b.Y))
	sum.Sub(sum, product(b.X, a.Y))
}

func sign(v float64) int { //unit:any
	switch {
	case v > 0:
		return 1
	case v < 0:
		return -1
	}
	return 0
}

// turning is 1 for a ring that runs counter-clockwise, -1 for clockwise, 0 for
// one without area, and the size of its area. Twice the area is summed over n
// vertices about the first; each term carries up to 5 roundings and the sum n,
// so that it is off by less than (n+5) times unitRound times the sum of sizes,
// to first order; doubled, it covers the rest.
func turning(r format.Ring) (turns int, area float64) { //unit:square units of the file
	var sum, size float64
	o := r[0]
	a := r[len(r)-1]
	for _, b := range r {
		p, q := (a.X-o.X)*(b.Y-o.Y), (b.X-o.X)*(a.Y-o.Y)
		sum += p - q
		size += math.Abs(p) + math.Abs(q)
		a = b
	}
	bound := 2 * float64(len(r)+5) * unitRound * size
	if size > leastSize && math.Abs(sum) > bound && !math.IsInf(size, 0) {
		return sign(sum), math.Abs(sum) / 2
	}
	var exact big.Float
	exact.SetPrec(exactBits)
	a = r[len(r)-1]
	for _, b := range r {
		addCross(&exact, a, b)
		a = b
	}
	twice, _ := exact.Float64()
	return exact.Sign(), math.Abs(twice) / 2
}

// box is the smallest upright box around a ring.
type box struct{ low, high [2]float64 } //unit:the file's

func boxOf(r format.Ring) box {
	b := box{[2]float64{r[0].X, r[0].Y}, [2]float64{r[0].X, r[0].Y}}
	for _, c := range r[1:] {
		b.low[0], b.high[0] = min(b.low[0], c.X), max(b.high[0], c.X)
		b.low[1], b.high[1] = min(b.low[1], c.Y), max(b.high[1], c.Y)
	}
	return b
}

func (b box) holds(c box) bool {
	return b.low[0] <= c.low[0] && c.high[0] <= b.high[0] && b.low[1] <= c.low[1] && c.high[1] <= b.high[1]
}

func (b box) meets(c box) bool {
	return b.low[0] <= c.high[0] && c.low[0] <= b.high[0] && b.low[1] <= c.high[1] && c.low[1] <= b.high[1]
}

// slabs sort the edges of a ring by Y, so that only those at the height of a
// place need be looked at. Edge i runs from vertex i to the next.
type slabs struct {
	low, perUnit float64 //unit:the file's, and slabs for each of them
	first        []int32 // of each slab, in edges
	edges        []int32
}

const (
	leastEdges = 64 // fewer are looked at all
	perSlab    = 4  // edges for each slab, if all were short
	mostCopies = 8  // of each edge on average, else the ring is looked at whole
)

// newSlabs returns nil where slabs would not pay.
func newSlabs(r format.Ring, b box) *slabs {
	n := len(r) / perSlab
	height := b.high[1] - b.low[1]
	if len(r) < leastEdges || !(height > 0) || math.IsInf(height, 0) {
		return nil
	}
	s := &slabs{low: b.low[1], perUnit: float64(n) / height, first: make([]int32, n+1)}
	if math.IsInf(s.perUnit, 0) {
		return nil
	}
	span := func(i int) (int, int) {
		p, q := r[i].Y, r[(i+1)%len(r)].Y
		return s.slab(min(p, q)), s.slab(max(p, q))
	}
	total := 0
	for i := range r {
		from, to := span(i)
		total += to - from + 1
		if total > mostCopies*len(r) {
			return nil
		}
		for k := from; k <= to; k++ {
			s.first[k+1]++
		}
	}
	for k := range n {
		s.first[k+1] += s.first[k]
	}
	s.edges = make([]int32, total)
	next := make([]int32, n)
	copy(next, s.first)
	for i := range r {
		from, to := span(i)
		for k := from; k <= to; k++ {
			s.edges[next[k]] = int32(i)
			next[k]++
		}
	}
	return s
}

// slab is monotone in y, so that a place lies in a slab of every edge at its
// height.
func (s *slabs) slab(y float64) int { //unit:the file's
	k := int((y - s.low) * s.perUnit)
	return max(0, min(k, len(s.first)-2))
}

func (s *slabs) at(y float64) []int32 { //unit:the file's
	k := s.slab(y)
	return s.edges[s.first[k]:s.first[k+1]]
}
