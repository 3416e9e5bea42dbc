package textgrid

import (
	"math"
	"strconv"
	"strings"
)

// pow10 are the powers of ten that a float holds exactly.
var pow10 = [...]float64{
	1, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11,
	1e12, 1e13, 1e14, 1e15, 1e16, 1e17, 1e18, 1e19, 1e20, 1e21, 1e22,
}

// number reads a decimal number with a point or a comma, the nearest float to
// it. decimals is how many digits follow the point, less a power of ten. nan
// and inf are NaN.
func number(b []byte) (v float64, decimals int, ok bool) {
	var mantissa uint64
	i, digits, point := 0, 0, -1
	negative := len(b) > 0 && b[0] == '-'
	if len(b) > 0 && (b[0] == '-' || b[0] == '+') {
		i++
	}
	for ; i < len(b); i++ {
		c := b[i] - '0'
		if c > 9 {
			if (b[i] != '.' && b[i] != ',') || point >= 0 {
				break
			}
			point = digits
			continue
		}
		mantissa = mantissa*10 + uint64(c)
		digits++
	}
	if point >= 0 {
		decimals = digits - point
	}
	// Both mantissa and power are exact, so the quotient is rounded once
	// (Clinger 1990, How to read floating point numbers accurately).
	const exactDigits = 15
	if i == len(b) && digits > 0 && digits <= exactDigits {
		v = float64(mantissa) / pow10[decimals]
		if negative {
			v = -v
		}
		return v, decimals, true
	}
	return slowNumber(b, digits, decimals)
}

// slowNumber reads what the short way cannot: many digits, a power of ten, and
// words.
func slowNumber(b []byte, digits, decimals int) (float64, int, bool) {
	s := string(b)
	switch strings.ToLower(strings.TrimLeft(s, "+-")) {
	case "nan", "inf", "infinity":
		return math.NaN(), 0, true
	}
	if digits == 0 || strings.Trim(s, "+-.,0123456789eE") != "" {
		return 0, 0, false
	}
	v, err := strconv.ParseFloat(strings.Replace(s, ",", ".", 1), 64)
	if err != nil && !math.IsInf(v, 0) {
		return 0, 0, false
	}
	if at := strings.IndexAny(s, "eE"); at >= 0 {
		if power, err := strconv.Atoi(s[at+1:]); err == nil {
			decimals -= power
		}
	}
	return v, decimals, true
}

// looksNumber reports whether a word is a number or is meant as one.
func looksNumber(b []byte) bool {
	if _, _, ok := number(b); ok {
		return true
	}
	return len(b) > 0 && strings.IndexByte("+-.,0123456789", b[0]) >= 0
}
