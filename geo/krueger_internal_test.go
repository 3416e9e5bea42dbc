package geo

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
)

// The series stand for the functions they replace. Source: package math.
func TestSeriesEqualTheirFunctions(t *testing.T) {
	e := math.Sqrt(ecc2)
	for i := -1000; i <= 1000; i++ {
		s := float64(i) / 1000
		want := math.Sinh(e * math.Atanh(e*s))
		assert.InDelta(t, want, sinhPsi(s), 2e-18+4e-16*math.Abs(want), "%g", s)
		x := 0.05 * s
		assert.InDelta(t, math.Asinh(x), asinh(x), 4e-16*math.Abs(x), "%g", x)
	}
}
