package geojson

import (
	"encoding/json"
	"math"
	"strconv"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// Outside value: strconv.ParseFloat of the Go standard library, which rounds
// to the nearest float64.
func TestReadNumberIsNearest(t *testing.T) {
	for _, s := range []string{
		"0", "-0", "1", "-18.4", "15.022562", "179.999999999", "9007199254740992", "9007199254740993", "0.1", "1e23", "8.5e-7",
		"123456789012345678", "1234567890123456789", "12345678901234567890", "99999999999999999999999", "0.000000000000000000000001",
		"2.2250738585072011e-308", "1.7976931348623157e308", "4.35", "1E+2", "1e-2", "0.30000000000000004",
	} {
		want, err := strconv.ParseFloat(s, 64)
		require.NoError(t, err)
		got, end, f := readNumber([]byte(s+","), 0)
		require.Nil(t, f, s)
		assert.Equal(t, len(s), end)
		assert.Equal(t, math.Float64bits(want), math.Float64bits(got), s)
	}
	rapid.Check(t, func(t *rapid.T) {
		s := rapid.StringMatching(`-?(0|[1-9][0-9]{0,19})(\.[0-9]{1,22})?([eE][+-]?[0-9]{1,2})?`).Draw(t, "number")
		want, err := strconv.ParseFloat(s, 64)
		require.NoError(t, err)
		got, end, f := readNumber([]byte(s), 0)
		require.Nil(t, f)
		assert.Equal(t, len(s), end)
		assert.Equal(t, math.Float64bits(want), math.Float64bits(got), s)
	})
}

// Outside value: json.Valid of the Go standard library.
func TestSkipValueIsStrict(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := rapid.StringMatching(`[\[\]{}",:0-9eE.+\-a \\u]{0,12}|\{("a":(1|-2.5e1|null|true|"x"|\[1,2\]),?){0,3}\}|\[([0-9.]{1,3},?){0,4}\]`).Draw(t, "text")
		b := []byte(s)
		i := skipBlank(b, 0)
		end, f := skipValue(b, i, 0)
		valid := f == nil && skipBlank(b, end) == len(b)
		assert.Equal(t, json.Valid(b), valid, "%q", s)
	})
}

// Expected texts are the decimal expansions cut by hand; reading back is by
// strconv of the Go standard library.
func TestAppendFixed(t *testing.T) {
	for _, c := range []struct {
		v        float64
		decimals int
		want     string
	}{
		{0, 9, "0"},
		{math.Copysign(0, -1), 9, "0"},
		{-4e-10, 9, "0"},
		{-5.1e-10, 9, "-0.000000001"},
		{180, 9, "180"},
		{-180, 9, "-180"},
		{17.5, 9, "17.5"},
		{17.123456789, 9, "17.123456789"},
		{17.1234567894, 9, "17.123456789"},
		{17.1234567896, 9, "17.12345679"},
		{0.1, 3, "0.1"},
		{-0.0004, 3, "0"},
		{8848.86, 3, "8848.86"},
		{1e15, 3, "1000000000000000"},
		{-1e29, 3, "-99999999999999991433150857216"},
		{100, 3, "100"},
		{9007199254740.993, 3, "9007199254740.992"},
	} {
		assert.Equal(t, c.want, string(appendFixed(nil, c.v, c.decimals)), "%g", c.v)
	}
	rapid.Check(t, func(t *rapid.T) {
		v := rapid.Float64Range(-360, 360).Draw(t, "v")
		got := string(appendFixed([]byte("x"), v, 9))[1:]
		back, err := strconv.ParseFloat(got, 64)
		require.NoError(t, err)
		assert.InDelta(t, v, back, 0.5001e-9)
		assert.Equal(t, got, string(appendFixed(nil, back, 9)), "written again it is the same")
	})
}
