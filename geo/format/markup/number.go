package markup

import (
	"fmt"
	"strconv"
	"strings"
)

// Number reads a decimal number as XML Schema writes it (Part 2, 2004, sections
// 3.2.3 decimal and 3.2.5 double), but neither INF nor NaN. what is the thing
// it is, for the problem; blanks around it are allowed.
func Number(s, what string) (v float64, problem string) { //unit:the text's
	s = strings.TrimSpace(s)
	if s == "" {
		return 0, "the " + what + " is missing"
	}
	if !plain(s) {
		if strings.Count(s, ",") == 1 && plain(strings.Replace(s, ",", ".", 1)) {
			return 0, fmt.Sprintf("the %s %s has a decimal comma; numbers take a point here", what, Clip(s))
		}
		return 0, fmt.Sprintf("the %s is the text %s, which is no plain number", what, Clip(s))
	}
	v, err := strconv.ParseFloat(s, 64)
	if err != nil {
		return 0, fmt.Sprintf("the %s %s is too large a number", what, Clip(s))
	}
	return v, ""
}

// plain reports whether s is sign, digits with at most one point, exponent.
func plain(s string) bool {
	s = unsigned(s)
	digits := 0
	point := false
	for i := 0; i < len(s); i++ {
		switch c := s[i]; {
		case c-'0' <= 9:
			digits++
		case c == '.' && !point:
			point = true
		case c|0x20 == 'e' && digits > 0:
			return whole(unsigned(s[i+1:]))
		default:
			return false
		}
	}
	return digits > 0
}

func unsigned(s string) string {
	if s != "" && (s[0] == '-' || s[0] == '+') {
		return s[1:]
	}
	return s
}

func whole(s string) bool {
	for i := 0; i < len(s); i++ {
		if s[i]-'0' > 9 {
			return false
		}
	}
	return s != ""
}
