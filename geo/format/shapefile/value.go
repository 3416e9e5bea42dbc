package shapefile

import (
	"encoding/binary"
	"encoding/json"
	"math"
	"strconv"
	"strings"
	"time"

	"hemrow/geo/format"
)

// readRow reads the values of a row: text, json.Number, bool or nil, as the
// reader of GeoJSON gives them. texts counts those whose encoding was guessed.
func (t *table) readRow(row []byte) (values map[string]any, name string, texts int) {
	all := string(row) // one copy, of which the values are slices
	values = make(map[string]any, len(t.columns))
	var naming format.Naming
	for i := range t.columns {
		c := &t.columns[i]
		v, guessed := c.value(all[c.at:c.at+c.size], &t.pages)
		if guessed {
			texts++
		}
		values[c.name] = v
		naming.Offer(c.name, v)
	}
	return values, naming.Name, texts
}

// value is one value. Blanks are no value.
func (c *column) value(s string, p *pages) (v any, guessed bool) {
	switch c.kind {
	case 'C', 'V':
		s, _, _ = strings.Cut(s, "\x00")
		if s = strings.TrimRight(s, " "); s == "" {
			return nil, false
		}
		s, guessed = p.read(s)
		return s, guessed
	case 'N', 'F':
		return textNumber(s), false
	case 'D':
		return date(strings.Trim(s, " \x00")), false
	case 'L':
		switch s[0] {
		case 'T', 't', 'Y', 'y':
			return true, false
		case 'F', 'f', 'N', 'n':
			return false, false
		}
		return nil, false
	}
	return c.binary([]byte(s)), false
}

// binary is a value that is not written as text. Level 7 keeps numbers so that
// they sort as bytes: big end first, the sign bit turned, negative doubles
// turned whole; FoxPro keeps them little end first (from memory).
func (c *column) binary(b []byte) any {
	switch c.kind {
	case 'I':
		return json.Number(strconv.Itoa(int(int32(binary.LittleEndian.Uint32(b)))))
	case '+':
		return json.Number(strconv.Itoa(int(int32(binary.BigEndian.Uint32(b) ^ 1<<31))))
	case 'Y': // ten-thousandths
		return textNumber(tenThousandths(int64(binary.LittleEndian.Uint64(b))))
	case 'B':
		return doubleNumber(math.Float64frombits(binary.LittleEndian.Uint64(b)))
	case 'O':
		u := binary.BigEndian.Uint64(b)
		if u == 0 {
			return nil
		}
		if u>>63 == 1 {
			u ^= 1 << 63
		} else {
			u = ^u
		}
		return doubleNumber(math.Float64frombits(u))
	}
	return moment(binary.LittleEndian.Uint32(b), binary.LittleEndian.Uint32(b[4:]))
}

func tenThousandths(v int64) string {
	const parts = 10000
	sign, u := "", uint64(v)
	if v < 0 {
		sign, u = "-", -u
	}
	tail := strconv.FormatUint(u%parts+parts, 10)[1:]
	return sign + strconv.FormatUint(u/parts, 10) + "." + tail
}

func doubleNumber(v float64) any { //unit:as the file has it
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return nil
	}
	return json.Number(strconv.FormatFloat(v, 'g', -1, 64))
}

// moment is a day, counted in Julian days, with the milliseconds of that day.
func moment(day, ms uint32) any {
	const unixDay = 2440588 // the Julian day that begins at noon of 1970-01-01
	const dayMS = 24 * 60 * 60 * 1000
	const lastDay = 5373484 // of the year 9999
	if day == 0 || day > lastDay || ms >= dayMS {
		return nil
	}
	t := time.UnixMilli((int64(day)-unixDay)*dayMS + int64(ms)).UTC()
	return t.Format("2006-01-02T15:04:05")
}

// date is YYYYMMDD in the way of ISO 8601; what is no date stays as it is.
func date(s string) any {
	if strings.Trim(s, "0 ") == "" {
		return nil
	}
	if t, err := time.Parse("20060102", s); err == nil {
		return t.Format(time.DateOnly)
	}
	return strings.ToValidUTF8(s, "\uFFFD")
}

// textNumber is a number in the spelling of JSON, digits unchanged; nil for
// blanks and for the asterisks that stand for a number too wide.
func textNumber(s string) any {
	s = strings.Trim(s, " \x00")
	if plainNumber(s) {
		return json.Number(s)
	}
	s = strings.Replace(strings.TrimPrefix(s, "+"), ",", ".", 1)
	sign := ""
	if rest, ok := strings.CutPrefix(s, "-"); ok {
		sign, s = "-", rest
	}
	end := strings.IndexAny(s, "eE")
	if end < 0 {
		end = len(s)
	}
	whole, fraction, _ := strings.Cut(s[:end], ".")
	if whole == "" && fraction == "" {
		return nil
	}
	if whole = strings.TrimLeft(whole, "0"); whole == "" {
		whole = "0"
	}
	if fraction != "" {
		fraction = "." + fraction
	}
	if s = sign + whole + fraction + s[end:]; plainNumber(s) {
		return json.Number(s)
	}
	return nil
}

// plainNumber reports whether s is a number as JSON writes it (RFC 8259
// section 6).
func plainNumber(s string) bool {
	i := 0
	digits := func() bool {
		from := i
		for i < len(s) && s[i] >= '0' && s[i] <= '9' {
			i++
		}
		return i > from
	}
	if i < len(s) && s[i] == '-' {
		i++
	}
	first := i
	if !digits() || i-first > 1 && s[first] == '0' {
		return false
	}
	if i < len(s) && s[i] == '.' {
		i++
		if !digits() {
			return false
		}
	}
	if i < len(s) && (s[i] == 'e' || s[i] == 'E') {
		i++
		if i < len(s) && (s[i] == '+' || s[i] == '-') {
			i++
		}
		if !digits() {
			return false
		}
	}
	return i == len(s)
}
