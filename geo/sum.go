package geo

import "math"

// Sum adds up many numbers with compensation: the rounding error of each step
// is kept and added at the end. The zero Sum is 0.
//
// Error: u|S| + 2(nu)² Σ|xᵢ| for n finite terms whose sum is S, u = 2⁻⁵³: one
// rounding of the result, however many terms there are, unless they cancel.
// A term that is not finite makes the value not finite.
// Source: A. Neumaier, ZAMM 54 (1974) 39-51.
type Sum struct{ total, rest float64 } //unit:of the terms

// Add adds one term.
func (s *Sum) Add(x float64) { //unit:of the terms
	// The conversion keeps the compiler from fusing a product into the sum.
	x = float64(x)
	t := s.total + x
	if math.Abs(s.total) >= math.Abs(x) {
		s.rest += (s.total - t) + x
	} else {
		s.rest += (x - t) + s.total
	}
	s.total = t
}

// Value is the sum of the terms so far.
func (s *Sum) Value() float64 { return s.total + s.rest } //unit:of the terms
