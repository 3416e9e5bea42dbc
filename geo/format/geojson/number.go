package geojson

import (
	"fmt"
	"strconv"
	"strings"
)

// tens are the powers of ten that a float64 holds exactly.
var tens = [...]float64{
	1e0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11,
	1e12, 1e13, 1e14, 1e15, 1e16, 1e17, 1e18, 1e19, 1e20, 1e21, 1e22,
}

// exactInt is the largest count up to which every whole number is a float64.
const exactInt = 1 << 53

// readNumber reads the JSON number at b[i]. The result is the float64 nearest
// to the text: below 2^53 digits and divisor are exact, so one division rounds
// once (Clinger, How to read floating point numbers accurately, 1990, section
// 2; from memory); all others go through strconv.
func readNumber(b []byte, i int) (v float64, end int, f *fault) {
	start := i
	if i < len(b) && b[i] == '-' {
		i++
	}
	var whole uint64
	first := i
	for i < len(b) && b[i]-'0' <= 9 {
		whole = whole*10 + uint64(b[i]-'0')
		i++
	}
	digits := i - first
	if digits == 0 || digits > 1 && b[first] == '0' {
		return 0, 0, noNumber(b, start)
	}
	point := 0
	if i < len(b) && b[i] == '.' {
		i++
		first = i
		for i < len(b) && b[i]-'0' <= 9 {
			whole = whole*10 + uint64(b[i]-'0')
			i++
		}
		if point = i - first; point == 0 {
			return 0, 0, noNumber(b, start)
		}
	}
	exponent := i < len(b) && b[i]|0x20 == 'e'
	if exponent {
		if i = skipExponent(b, i); i == 0 {
			return 0, 0, noNumber(b, start)
		}
	}
	// 19 digits cannot overflow 64 bits
	if exponent || digits+point > 19 || whole > exactInt || point >= len(tens) {
		v, err := strconv.ParseFloat(string(b[start:i]), 64)
		if err != nil {
			return 0, 0, &fault{at: start, problem: token(b, start) + " is too large a number"}
		}
		return v, i, nil
	}
	v = float64(whole) / tens[point]
	if b[start] == '-' {
		v = -v
	}
	return v, i, nil
}

// skipExponent reads e, sign and digits; 0 if there are no digits.
func skipExponent(b []byte, i int) int {
	i++
	if i < len(b) && (b[i] == '+' || b[i] == '-') {
		i++
	}
	first := i
	for i < len(b) && b[i]-'0' <= 9 {
		i++
	}
	if i == first {
		return 0
	}
	return i
}

func skipNumber(b []byte, i int) (end int, f *fault) {
	start := i
	_, end, f = readNumber(b, i)
	if f != nil && !f.syntax { // too large for a float64, but it may stay text
		for i < len(b) && (b[i]-'0' <= 9 || b[i] == '-' || b[i] == '+' || b[i] == '.' || b[i]|0x20 == 'e') {
			i++
		}
		return i, nil
	}
	if f == nil && !delimits(b, end) {
		return 0, noNumber(b, start)
	}
	return end, f
}

// delimits reports whether a number may end before b[i].
func delimits(b []byte, i int) bool {
	return i >= len(b) || blank(b[i]) || b[i] == ',' || b[i] == ']' || b[i] == '}'
}

func noNumber(b []byte, i int) *fault {
	if i >= len(b) {
		return syntaxAt(b, i)
	}
	w := token(b, i)
	switch w {
	case "-NaN", "-nan", "-Infinity", "-inf", "-Inf":
		return &fault{at: i, problem: w + " is no number in JSON", syntax: true}
	}
	return &fault{at: i, problem: fmt.Sprintf("%q is not a number as JSON writes it", w), syntax: true}
}

// textNumber reads a coordinate that was written as text: a plain number, with
// a decimal point or a decimal comma.
func textNumber(s string) (v float64, comma, ok bool) {
	s = strings.TrimSpace(s)
	if strings.Count(s, ",") == 1 && !strings.Contains(s, ".") {
		s, comma = strings.Replace(s, ",", ".", 1), true
	}
	v, end, f := readNumber([]byte(s), 0)
	return v, comma, f == nil && end == len(s)
}
