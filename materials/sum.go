package materials

import (
	"math"

	"hemrow/geo"
)

// whole is how many units of size each are needed for an amount: rounded up,
// but not for an excess that is only rounding.
func whole(amount, each float64) float64 {
	if amount <= 0 {
		return 0
	}
	return math.Max(1, math.Ceil(amount/each-geo.WholeSlackRatio))
}
