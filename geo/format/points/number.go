package points

import (
	"bytes"
	"fmt"
	"strconv"
	"strings"

	"hemrow/geo/format/encoded"
)

// tens are the powers of ten that a float64 holds exactly.
var tens = [...]float64{
	1e0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11,
	1e12, 1e13, 1e14, 1e15, 1e16, 1e17, 1e18, 1e19, 1e20, 1e21, 1e22,
}

// exactInt is the largest count up to which every whole number is a float64.
const exactInt = 1 << 53

// number reads a plain number with the decimal mark. The result is the float64
// nearest to the text: below 2^53 digits and divisor are exact, so one division
// rounds once (Clinger, How to read floating point numbers accurately, 1990,
// section 2; from memory); all others go through strconv.
func number(b []byte, mark byte) (v float64, ok bool) {
	i := 0
	if len(b) > 0 && (b[0] == '-' || b[0] == '+') {
		i++
	}
	var whole uint64
	first := i
	for i < len(b) && b[i]-'0' <= 9 {
		whole = whole*10 + uint64(b[i]-'0')
		i++
	}
	digits, point := i-first, 0
	if i < len(b) && b[i] == mark {
		i++
		first = i
		for i < len(b) && b[i]-'0' <= 9 {
			whole = whole*10 + uint64(b[i]-'0')
			i++
		}
		point = i - first
	}
	if digits+point == 0 {
		return 0, false
	}
	// 19 digits cannot overflow 64 bits
	if i < len(b) || digits+point > 19 || whole > exactInt || point >= len(tens) {
		return slowNumber(b, i, mark)
	}
	v = float64(whole) / tens[point]
	if b[0] == '-' {
		v = -v
	}
	return v, true
}

// slowNumber reads b, whose digits end at b[i], where an exponent may follow.
func slowNumber(b []byte, i int, mark byte) (float64, bool) {
	if i < len(b) {
		if b[i]|0x20 != 'e' {
			return 0, false
		}
		i++
		if i < len(b) && (b[i] == '+' || b[i] == '-') {
			i++
		}
		if i == len(b) {
			return 0, false
		}
		for ; i < len(b); i++ {
			if b[i]-'0' > 9 {
				return 0, false
			}
		}
	}
	s := string(b)
	if mark != '.' {
		s = strings.Replace(s, string(rune(mark)), ".", 1)
	}
	v, err := strconv.ParseFloat(s, 64)
	return v, err == nil
}

// isNumber reports whether b is a number with either decimal mark.
func isNumber(b []byte) bool {
	if _, ok := number(b, '.'); ok {
		return true
	}
	_, ok := number(b, ',')
	return ok
}

// isWhole reports whether b is nothing but digits.
func isWhole(b []byte) bool {
	for _, c := range b {
		if c-'0' > 9 {
			return false
		}
	}
	return len(b) > 0
}

// missing reports whether b stands for no value at all.
func missing(b []byte) bool {
	if len(b) == 0 {
		return true
	}
	if len(b) > 4 {
		return false
	}
	switch strings.ToLower(string(b)) {
	case "-", "--", "na", "n/a", "nan", "null", "none", "nil":
		return true
	}
	return false
}

// grouped reports whether b is a number with separators of thousands: groups of
// three digits behind a first one of up to three, the same mark between all. A
// single group needs a mark that is no decimal mark, or a decimal part behind.
func grouped(b []byte) bool {
	s, _ := encoded.Text(b)
	s = strings.TrimLeft(s, "+-")
	for _, sep := range []string{",", ".", "'", "’", " ", "\u00A0", "\u202F", "_"} {
		parts := strings.Split(s, sep)
		if len(parts) < 2 || !isWhole([]byte(parts[0])) || len(parts[0]) > 3 {
			continue
		}
		last := len(parts) - 1
		end, tail := parts[last], ""
		if k := strings.IndexAny(end, ".,"); k >= 0 {
			end, tail = end[:k], end[k+1:]
		}
		parts[last] = end
		fine := tail == "" || isWhole([]byte(tail))
		for _, p := range parts[1:] {
			fine = fine && len(p) == 3 && isWhole([]byte(p))
		}
		if fine && (len(parts) > 2 || tail != "" || sep != "," && sep != ".") {
			return true
		}
	}
	return false
}

// whyNoNumber says what is wrong with b as a number, and what to do.
func whyNoNumber(b []byte, mark byte) (problem, hint string) {
	other := byte(',')
	words := map[byte]string{'.': "point", ',': "comma"}
	if mark == ',' {
		other = '.'
	}
	if missing(b) {
		return "is empty", "measure the point again, or take the row out"
	}
	show := `"` + shown(b) + `"`
	if grouped(b) {
		return show + " has separators of thousands", "export the numbers without them"
	}
	if _, ok := number(b, other); ok {
		return fmt.Sprintf("%s has a decimal %s where the file has decimal %ss", show, words[other], words[mark]),
			"use one decimal mark in the whole file, or give the option for the decimal mark"
	}
	if _, _, fault := angle(b, mark); fault == "" {
		return show + " is an angle, where the first row has a plain number", "write all rows in the same form"
	} else if bytes.ContainsAny(b, "0123456789") && looksAngle(b) {
		return show + " is no angle: " + fault, "write angles as 46.95, 46.95N or 46°57'00.2\"N"
	}
	return show + " is no number", ""
}
