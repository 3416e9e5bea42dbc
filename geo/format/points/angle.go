package points

import (
	"bytes"
	"strings"

	"hemrow/geo/format/encoded"
)

// form is how an angle is written. All rows of a column must share it.
type form struct {
	way  way
	axis bool // a letter N, S, E or W stands with it
}

type way int

const (
	plainDegrees   way = iota // 46.95
	markedDegrees             // 46.95°
	markedMinutes             // 46°57.003'
	markedSeconds             // 46°57'00.2"
	packedMinutes             // 4657.003N
	packedSeconds             // 465700.2N
	wayOfNoNumbers = -1
)

// angled is an angle that was read.
type angled struct {
	form form
	axis byte // N for latitudes, E for longitudes, 0 unsaid
}

// marks are the characters that may stand between degrees, minutes and seconds.
const marks = "°º˚'’′´\"″”: "

// looksAngle reports whether b has something of an angle about it, so that a
// message may call it one.
func looksAngle(b []byte) bool {
	s, _ := encoded.Text(b)
	_, letter, fault := takeLetter(s)
	return strings.ContainsAny(s, marks) || letter != 0 || fault != ""
}

// angle reads an angle in degrees, with letter or marks. fault says in words
// what is wrong with it, "" if nothing.
func angle(b []byte, mark byte) (v float64, a angled, fault string) {
	s, _ := encoded.Text(b)
	s = strings.TrimSpace(s)
	s, letter, fault := takeLetter(s)
	if fault != "" {
		return 0, a, fault
	}
	negative := letter == 'S' || letter == 'W'
	switch letter {
	case 'N', 'S':
		a.axis = 'N'
	case 'E', 'W':
		a.axis = 'E'
	}
	if strings.HasPrefix(s, "-") || strings.HasPrefix(s, "+") {
		if letter != 0 {
			return 0, a, "it has both a sign and a letter"
		}
		negative = s[0] == '-'
		s = s[1:]
	}
	a.form.axis = letter != 0
	if v, a.form.way, fault = unsigned(s, mark, a.axis); fault != "" {
		return 0, a, fault
	}
	most := 360.0
	if a.axis == 'N' {
		most = 90
	}
	if v > most {
		return 0, a, "it is more than " + map[bool]string{true: "90", false: "360"}[most == 90] + " degrees"
	}
	if negative {
		v = -v
	}
	return v, a, ""
}

// takeLetter takes N, S, E or W off the end or the beginning.
func takeLetter(s string) (rest string, letter byte, fault string) {
	if s == "" {
		return s, 0, "it is empty"
	}
	at := func(c byte) (byte, bool) {
		c &^= 0x20
		return c, c == 'N' || c == 'S' || c == 'E' || c == 'W' || c == 'O'
	}
	if l, ok := at(s[len(s)-1]); ok {
		rest, letter = strings.TrimSpace(s[:len(s)-1]), l
	} else if l, ok := at(s[0]); ok {
		rest, letter = strings.TrimSpace(s[1:]), l
	} else {
		return s, 0, ""
	}
	if letter == 'O' {
		return s, 0, "the letter O is east in German and west in French; write E or W"
	}
	return rest, letter, ""
}

// unsigned reads degrees, minutes and seconds without sign or letter.
func unsigned(s string, mark, axis byte) (v float64, w way, fault string) {
	parts, marked, ok := cutMarks(s)
	if !ok {
		return 0, wayOfNoNumbers, "it is no number of degrees"
	}
	if len(parts) == 1 && !marked && axis != 0 {
		if packed, w := unpack(parts[0], mark); packed != nil {
			v, fault = sexagesimal(packed, mark)
			return v, w, fault
		}
	}
	if len(parts) == 1 && !marked && axis == 0 {
		return 0, wayOfNoNumbers, "it is no number of degrees" // a plain number is none of ours
	}
	v, fault = sexagesimal(parts, mark)
	w = markedSeconds
	switch {
	case len(parts) == 1 && !marked:
		w = plainDegrees
	case len(parts) == 1:
		w = markedDegrees
	case len(parts) == 2:
		w = markedMinutes
	}
	return v, w, fault
}

// cutMarks cuts at the marks of degrees, minutes and seconds.
func cutMarks(s string) (parts []string, marked, ok bool) {
	for s != "" {
		k := strings.IndexAny(s, marks)
		if k == 0 {
			return nil, false, false
		}
		if k < 0 {
			parts = append(parts, s)
			break
		}
		parts = append(parts, s[:k])
		rest := strings.TrimLeft(s[k:], marks)
		marked = marked || strings.TrimSpace(s[k:len(s)-len(rest)]) != ""
		s = rest
	}
	return parts, marked, len(parts) >= 1 && len(parts) <= 3
}

// unpack cuts 4657.003 of a latitude or 01527.003 of a longitude into degrees
// and minutes, and six or seven digits into seconds as well, the way receivers
// write them (NMEA 0183: ddmm.mmmm, dddmm.mmmm). Up to three digits are degrees.
func unpack(s string, mark byte) ([]string, way) {
	n := 0
	for n < len(s) && s[n]-'0' <= 9 {
		n++
	}
	if n < len(s) && s[n] != mark {
		return nil, 0
	}
	switch d := n - 2; n {
	case 4, 5:
		return []string{s[:d], s[d:]}, packedMinutes
	case 6, 7:
		return []string{s[:d-2], s[d-2 : d], s[d:]}, packedSeconds
	}
	return nil, 0
}

// sexagesimal adds up degrees, minutes and seconds, of which only the last may
// have a decimal part.
func sexagesimal(parts []string, mark byte) (v float64, fault string) {
	scale := 1.0
	for i, p := range parts {
		if i < len(parts)-1 && !isWhole([]byte(p)) || !digitFirst(p) {
			return 0, "\"" + p + "\" is no number of " + [...]string{"degrees", "minutes", "seconds"}[i]
		}
		n, ok := number([]byte(p), mark)
		if !ok {
			return 0, "\"" + p + "\" is no number of " + [...]string{"degrees", "minutes", "seconds"}[i]
		}
		if i > 0 && n >= 60 {
			return 0, [...]string{"", "minutes", "seconds"}[i] + " are 60 or more"
		}
		v += n / scale
		scale *= 60
	}
	return v, ""
}

func digitFirst(s string) bool { return s != "" && s[0]-'0' <= 9 }

// isAngle reports whether b is an angle with letter or marks, with either
// decimal mark. Whole numbers with a letter alone are not: points are called N12.
func isAngle(b []byte) (a angled, ok bool) {
	if len(b) == 0 || bytes.IndexByte([]byte("0123456789+-NSEWnsew"), b[0]) < 0 {
		return a, false
	}
	if s, _ := encoded.Text(b); !strings.ContainsAny(s, marks+".,") {
		return a, false
	}
	for _, mark := range []byte{'.', ','} {
		if _, a, fault := angle(b, mark); fault == "" {
			return a, true
		}
	}
	return a, false
}
