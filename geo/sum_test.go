package geo_test

import (
	"math"
	"math/big"
	"testing"

	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"

	"hemrow/geo"
)

// By hand; the plain sum of a million tenths is off by 1e-6.
func TestSum(t *testing.T) {
	var s geo.Sum
	assert.Zero(t, s.Value())
	plain := 0.0
	for range 1_000_000 {
		s.Add(0.1)
		plain += 0.1
	}
	assert.Equal(t, 100000.0, s.Value())
	assert.NotEqual(t, 100000.0, plain)
	s = geo.Sum{}
	for _, x := range []float64{1e16, 1, -1e16} {
		s.Add(x)
	}
	assert.Equal(t, 1.0, s.Value())
	s.Add(math.NaN())
	assert.True(t, math.IsNaN(s.Value()))
}

// The stated bound holds against exact arithmetic (math/big).
func TestSumBound(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		xs := rapid.SliceOfN(rapid.Float64Range(-1e9, 1e9), 0, 200).Draw(t, "terms")
		var s geo.Sum
		exact, size := new(big.Float).SetPrec(2200), 0.0
		for _, x := range xs {
			s.Add(x)
			exact.Add(exact, new(big.Float).SetFloat64(x))
			size += math.Abs(x)
		}
		off, _ := new(big.Float).Sub(exact, new(big.Float).SetFloat64(s.Value())).Float64()
		sum, _ := exact.Float64()
		const u = 0x1p-53
		nu := float64(len(xs)) * u
		assert.LessOrEqual(t, math.Abs(off), u*math.Abs(sum)+2*nu*nu*size)
	})
}

func BenchmarkSum(b *testing.B) {
	for b.Loop() {
		var s geo.Sum
		for i := range 1000 {
			s.Add(float64(i))
		}
		if s.Value() != 499500 {
			b.Fatal(s.Value())
		}
	}
}
