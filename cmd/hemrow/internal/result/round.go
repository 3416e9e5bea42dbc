package result

import (
	"fmt"
	"math"
	"strconv"
	"strings"
)

// Rounding at output, in one place. Scales are whole numbers so that the
// result is the double nearest to the decimal.
const (
	perMM      = 1e3 // lengths, volumes, kilograms: 0.001
	perDM2     = 10  // areas: 0.1 m2
	perNanoDeg = 1e9 // longitude and latitude: 0.11 mm or less
	perMicro   = 1e6 // bearings, tonnes
	perGround  = 1e9 // the ground factor
	figuresNo  = 9   // significant figures of all else
)

func roundTo(v, scale float64) float64 {
	r := math.Round(v*scale) / scale
	if math.IsInf(r, 0) { // too large to have decimals
		return v
	}
	return r + 0 // turns -0 into 0
}

func mm(lengthM float64) float64   { return roundTo(lengthM, perMM) }
func m2(areaM2 float64) float64    { return roundTo(areaM2, perDM2) }
func microDeg(deg float64) float64 { return roundTo(deg, perMicro) }
func nanoDeg(deg float64) float64  { return roundTo(deg, perNanoDeg) }
func figures(v float64) float64    { return significant(v, figuresNo) }
func significant(v float64, n int) float64 {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return v
	}
	r, err := strconv.ParseFloat(strconv.FormatFloat(v, 'e', n-1, 64), 64)
	if err != nil { // rounded up past the largest double
		return v
	}
	return r + 0
}

// quantity rounds a value of the take-off by its unit.
func quantity(v float64, unit string) float64 {
	switch unit {
	case "m", "m3", "kg":
		return roundTo(v, perMM)
	case "m2":
		return roundTo(v, perDM2)
	case "t":
		return roundTo(v, perMicro)
	}
	return figures(v)
}

// finite collects the first number that is none.
type finite struct{ err error }

func (f *finite) see(what string, values ...float64) {
	for _, v := range values {
		if f.err == nil && (math.IsNaN(v) || math.IsInf(v, 0)) {
			f.err = fmt.Errorf("%s is %g, no number to print", what, v)
		}
	}
}

// text makes a string from a file safe to encode and decode unchanged.
func text(s string) string { return strings.ToValidUTF8(s, "\uFFFD") }
