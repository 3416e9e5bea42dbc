package textgrid

import (
	"math"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// Numbers as text read to the same float as by the standard library.
func TestNumber(t *testing.T) {
	for text, decimals := range map[string]int{
		"0": 0, "-0": 0, "7": 0, "+7": 0, "161.343": 3, "-161.343": 3, ".5": 1, "5.": 0, "0.1": 1, "123456789012345": 0,
		"1234567890.12345": 5, "311957.780000000028": 12, "9007199254740993": 0, "0.30000000000000004": 17,
		"1e3": -3, "1.5E-3": 4, "-1.797693134862315708e+308": -290, "-3.4028234663852886e+38": -22, "1e999": -999,
	} {
		want, _ := strconv.ParseFloat(text, 64)
		got, d, ok := number([]byte(text))
		assert.True(t, ok, text)
		assert.Equal(t, math.Float64bits(want), math.Float64bits(got), text)
		assert.Equal(t, decimals, d, text)
		comma, _, ok := number([]byte(strings.Replace(text, ".", ",", 1)))
		assert.True(t, ok, text)
		assert.Equal(t, math.Float64bits(want), math.Float64bits(comma), text)
	}
	for _, text := range []string{"", "-", "+", ".", ",", "e5", "1.2.3", "1,2,3", "1,2.3", "--1", "0x10", "1_000", "1e", "12a", "x", "1-2", "infi"} {
		_, _, ok := number([]byte(text))
		assert.False(t, ok, text)
	}
	for _, text := range []string{"nan", "NaN", "-nan", "inf", "-Infinity"} {
		v, _, ok := number([]byte(text))
		assert.True(t, ok && math.IsNaN(v), text)
	}
	rapid.Check(t, func(t *rapid.T) {
		v := rapid.Float64().Draw(t, "v")
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return
		}
		text := strconv.FormatFloat(v, rapid.SampledFrom([]byte("efg")).Draw(t, "verb"), rapid.IntRange(-1, 20).Draw(t, "digits"), 64)
		want, err := strconv.ParseFloat(text, 64)
		got, _, ok := number([]byte(text))
		require.True(t, ok, text)
		if err == nil {
			require.Equal(t, math.Float64bits(want), math.Float64bits(got), text)
		}
	})
}
