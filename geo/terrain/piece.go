package terrain

import (
	"math"

	"github.com/paulmach/orb"

	"hemrow/geo"
)

// piece is a part of a straight segment on one formula of the surface. With x
// from -1 at its start to 1 at its end, rise along the segment and to its left
// are c[0] + c[1] x + c[2] x² for a metre of the frame.
type piece struct {
	t0, t1     float64 // shares of the segment
	zMid       float64
	rise, side [3]float64
	covered    bool
}

// parts is the number of equal parts in which the surface stays within half of
// geo.DrapeZM of straight. The height is zMid + h (c[0] x + c[1] x²/2 + ...)
// with h half the length, so that it sags by h c[1] / 2.
func (p *piece) parts(lengthM float64) int {
	const most = 256
	sag := (p.t1 - p.t0) / 4 * lengthM * math.Abs(p.rise[1])
	if !(sag > geo.DrapeZM/2) {
		return 1
	}
	return int(min(most, math.Ceil(math.Sqrt(sag/(geo.DrapeZM/2)))))
}

// part is where part k of n of a piece begins.
func (p *piece) part(k, n int) float64 {
	if k == n {
		return p.t1
	}
	return p.t0 + (p.t1-p.t0)*float64(k)/float64(n)
}

// gaussAt is the outer points of the rule of Gauss and Legendre for three
// points on -1..1; the weights are 5/9, 8/9, 5/9 (Abramowitz and Stegun 1964,
// table 25.4).
const gaussAt = 0.774596669241483377035853079956

// gauss is the mean of a function by its values there.
func gauss(v0, v1, v2 float64) float64 { return 5.0/18*(v0+v2) + 8.0/18*v1 }

// parabola is the coefficients of the parabola through values there.
func parabola(v0, v1, v2 float64) [3]float64 {
	return [3]float64{v1, (v2 - v0) / (2 * gaussAt), (v2 + v0 - 2*v1) / (2 * gaussAt * gaussAt)}
}

// values is the inverse of parabola.
func values(c *[3]float64) (v0, v1, v2 float64) {
	even := c[0] + gaussAt*gaussAt*c[2]
	return even - gaussAt*c[1], c[0], even + gaussAt*c[1]
}

// walker goes along a segment from formula to formula. It adds to dst the
// pieces of ab, whose length is given; they follow each other from 0 to 1.
type walker interface {
	pieces(a, b orb.Point, lengthM float64, dst []piece) []piece
}

// walkerOf is s itself if it can, or asks for breaks and samples.
func walkerOf(s Surface) walker {
	if w, ok := s.(walker); ok {
		return w
	}
	return &asker{surface: s, from: samplerOf(s)}
}

// asker knows a surface by what it answers only.
type asker struct {
	surface Surface
	from    sampler
	shares  []float64
}

func (w *asker) pieces(a, b orb.Point, lengthM float64, dst []piece) []piece {
	w.shares = append(w.surface.Breaks(a, b, append(w.shares[:0], 0)), 1)
	for i := 1; i < len(w.shares); i++ {
		p := w.measure(a, b, lengthM, w.shares[i-1], w.shares[i])
		n := p.parts(lengthM)
		if n == 1 {
			dst = append(dst, p)
			continue
		}
		for k := range n {
			dst = append(dst, w.measure(a, b, lengthM, p.part(k, n), p.part(k+1, n)))
		}
	}
	return dst
}

// measure samples a piece at the three points.
func (w *asker) measure(a, b orb.Point, lengthM, t0, t1 float64) piece {
	east, north := (b[0]-a[0])/lengthM, (b[1]-a[1])/lengthM
	p := piece{t0: t0, t1: t1}
	var rise, side [3]float64
	for i, x := range [3]float64{-gaussAt, 0, gaussAt} {
		at := along(a, b, (t0+t1)/2+x*(t1-t0)/2)
		z, gx, gy, ok := w.from.sample(at[0], at[1])
		if !ok {
			return p
		}
		if i == 1 {
			p.zMid = z
		}
		rise[i], side[i] = gx*east+gy*north, gy*east-gx*north
	}
	p.rise, p.side, p.covered = parabola(rise[0], rise[1], rise[2]), parabola(side[0], side[1], side[2]), true
	return p
}
