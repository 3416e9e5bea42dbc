package materials

import (
	"math"

	"hemrow/geo"
)

// sum is a Neumaier sum: the total of many lengths is right to the last digit,
// however many there are. Source: A. Neumaier, ZAMM 54 (1974).
type sum struct{ total, rest float64 } //unit:of the terms

func (s *sum) add(x float64) {
	t := s.total + x
	if math.Abs(s.total) >= math.Abs(x) {
		s.rest += (s.total - t) + x
	} else {
		s.rest += (x - t) + s.total
	}
	s.total = t
}

func (s *sum) value() float64 { return s.total + s.rest }

// whole is how many units of size each are needed for an amount: rounded up,
// but not for an excess that is only rounding.
func whole(amount, each float64) float64 {
	if amount <= 0 {
		return 0
	}
	return math.Max(1, math.Ceil(amount/each-geo.WholeSlackRatio))
}
