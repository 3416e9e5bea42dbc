package points

import (
	"bytes"
	"fmt"
	"strings"

	"hemrow/geo"
	"hemrow/geo/format/encoded"
	"hemrow/geo/format/wkt"
)

// separators are what may stand between columns, those first that win when two
// explain the file as well.
var separators = [...]byte{';', '\t', ',', '|', ' '}

func separatorWord(sep byte) string {
	switch sep {
	case ';':
		return "semicolons"
	case '\t':
		return "tabs"
	case ',':
		return "commas"
	case '|':
		return "bars"
	case ' ':
		return "blanks"
	}
	return "nothing"
}

// table is the sample cut with one separator.
type table struct {
	sep     byte
	rows    [][][]byte
	lines   []int // from 1, of the file
	comment []byte
	width   int // fields of most rows
}

// cut cuts the sample's lines.
func cut(lines [][]byte, first int, sep byte) table {
	t := table{sep: sep}
	sp := splitter{sep: sep}
	widths := map[int]int{}
	for i := 0; i < len(lines); i++ {
		b, at := lines[i], first+i
		if passOver(b) {
			if c := bytes.TrimSpace(b); len(c) > 0 && len(t.rows) == 0 {
				t.comment = c[1:]
			}
			continue
		}
		fields, fault := sp.fields(b)
		for ; fault == quoteOpen && i+1 < len(lines); i++ {
			b = bytes.Join([][]byte{b, lines[i+1]}, []byte{'\n'})
			fields, fault = sp.fields(b)
		}
		if fault != quoteFine || allEmpty(fields) {
			continue
		}
		t.rows = append(t.rows, append([][]byte(nil), fields...))
		t.lines = append(t.lines, at)
		widths[len(fields)]++
		if n := widths[len(fields)]; n > widths[t.width] || n == widths[t.width] && len(fields) > t.width {
			t.width = len(fields)
		}
	}
	return t
}

// score says how well the separator explains the sample: the share of fields
// that are numbers times the share of rows that have the usual width. Rows need
// two numbers or a shape to count at all. Numbers with nothing but blanks between
// them may be an angle, which counts a little less than one number.
func (t table) score() float64 {
	if t.width < 2 {
		return 0
	}
	numbers, fields, usual, useful := 0, 0, 0, 0
	for _, r := range t.rows {
		if len(r) == t.width {
			usual++
		}
		n := 0
		for _, f := range r {
			switch _, isA := isAngle(f); {
			case isShape(f):
				n += 20
			case isNumber(f):
				n += 10
			case isA && !blanksOnly(f):
				n += 10
			case isA:
				n += 9
			}
		}
		if n >= 18 {
			useful++
			fields += 10 * len(r)
			numbers += n
		}
	}
	if useful == 0 {
		return 0
	}
	return float64(numbers) / float64(fields) * float64(usual) / float64(len(t.rows))
}

// blanksOnly reports whether nothing but blanks stands between the numbers of f.
func blanksOnly(f []byte) bool {
	return len(bytes.Trim(f, "0123456789+-., ")) == 0
}

// isShape reports whether a field begins like well-known text.
func isShape(b []byte) bool {
	w := bytes.TrimSpace(b)
	n := 0
	for n < len(w) && w[n]|0x20 >= 'a' && w[n]|0x20 <= 'z' {
		n++
	}
	word := strings.ToUpper(string(w[:min(n, 24)]))
	if word == "SRID" {
		return true
	}
	switch strings.TrimRight(word, "ZM") {
	case "POINT", "LINESTRING", "POLYGON", "MULTIPOINT", "MULTILINESTRING", "MULTIPOLYGON", "GEOMETRYCOLLECTION":
		rest := bytes.TrimSpace(w[n:])
		return len(rest) > 0 && (rest[0] == '(' || bytes.HasPrefix(bytes.ToUpper(rest), []byte("EMPTY")) || rest[0]|0x20 == 'z' || rest[0]|0x20 == 'm')
	}
	return false
}

// bestTable tries all separators.
func bestTable(lines [][]byte, first int) (table, error) {
	one := cut(lines, first, 0)
	if len(one.rows) > 0 {
		if top := one.rows[0][0]; understand(string(top), meanings()).role == roleShape || isShape(top) && wholeShape(top) {
			return one, nil
		}
	}
	var best table
	top := 0.0
	for _, sep := range separators {
		if t := cut(lines, first, sep); t.score() > top {
			best, top = t, t.score()
		}
	}
	if top > 0 {
		return best, nil
	}
	for _, sep := range separators {
		t := cut(lines, first, sep)
		if len(t.rows) == 1 && len(t.rows[0]) > 1 && header(t.rows[0]) {
			if _, err := titled(titlesOf(t.rows[0])); err == nil {
				return table{}, &geo.InputError{Line: t.lines[0], Problem: "a header without any point below it"}
			}
		}
	}
	if len(one.rows) == 0 {
		return table{}, &geo.InputError{Problem: "the file holds no row that can be read"}
	}
	return table{}, &geo.InputError{
		Line: one.lines[0],
		Problem: fmt.Sprintf("no table of points: no separator cuts the lines into columns with two numbers; the first line is \"%s\"",
			shown(one.rows[0][0])),
		Hint: "set the columns apart with commas, semicolons, tabs or blanks",
	}
}

// wholeShape reports whether a line is one shape and nothing else.
func wholeShape(b []byte) bool {
	_, err := wkt.Parse(string(b))
	return err == nil
}

func titlesOf(fields [][]byte) (titles []string) {
	for _, f := range fields {
		s, _ := encoded.Text(f)
		titles = append(titles, s)
	}
	return titles
}

// header reports whether a row holds titles: no numbers, angles or shapes, or
// words for both coordinates all the same.
func header(fields [][]byte) bool {
	for _, f := range fields {
		if _, isA := isAngle(f); isA || isNumber(f) || isShape(f) {
			_, err := titled(titlesOf(fields))
			return err == nil
		}
	}
	return true
}

// decimal finds the decimal mark from the fields of the columns asked for: the
// mark that more of them have inside a number.
func decimal(t table, body [][][]byte, wanted func(col int) bool, opt string) (byte, error) {
	switch opt {
	case "point":
		return '.', nil
	case "comma":
		return ',', nil
	case "":
	default:
		return 0, &geo.InputError{Problem: fmt.Sprintf("the decimal mark %q is not known", opt), Hint: "say point or comma"}
	}
	points, commas, groups := 0, 0, 0
	for _, r := range body {
		for col, f := range r {
			if !wanted(col) {
				continue
			}
			if fits(f, '.') {
				points++
			} else if fits(f, ',') {
				commas++
				if threeBehind(f) {
					groups++
				}
			}
		}
	}
	if commas <= points {
		return '.', nil
	}
	if groups == commas && t.sep != ';' {
		first := body[0]
		return 0, &geo.InputError{
			Line:    t.lines[len(t.rows)-len(body)],
			Problem: fmt.Sprintf("the commas can be decimal marks (%s) or separators of thousands (%s)", swapped(first, "."), swapped(first, "")),
			Hint:    "give the option for the decimal mark as comma, or export the numbers without separators of thousands",
		}
	}
	return ',', nil
}

// swapped shows a row with its commas replaced.
func swapped(fields [][]byte, by string) string {
	return strings.ReplaceAll(quoted(fields), ",", by)
}

// fits reports whether f is a number or an angle that has this decimal mark.
func fits(f []byte, mark byte) bool {
	if bytes.IndexByte(f, mark) < 0 {
		return false
	}
	if _, ok := number(f, mark); ok {
		return true
	}
	_, _, fault := angle(f, mark)
	return fault == ""
}

// threeBehind reports whether f is up to three digits, a comma and three digits.
func threeBehind(f []byte) bool {
	f = bytes.TrimLeft(f, "+-")
	k := bytes.IndexByte(f, ',')
	return k >= 1 && k <= 3 && len(f) == k+4 && isWhole(f[:k]) && isWhole(f[k+1:])
}
