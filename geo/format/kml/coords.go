package kml

import (
	"bytes"
	"fmt"
	"math"
	"strings"

	"hemrow/geo/format"
	"hemrow/geo/format/markup"
)

const tupleHint = "a position is longitude,latitude or longitude,latitude,height without blanks; numbers take a decimal point"

// coordinates reads the text of a coordinates element.
func (p *placemark) coordinates() ([]format.Coord, error) {
	text, line, err := p.Text()
	if err != nil {
		return nil, err
	}
	if !sound(text) {
		if text, err = p.untangled(text, line); err != nil {
			return nil, err
		}
	}
	var out []format.Coord
	if len(text) > 0 {
		out = make([]format.Coord, 0, 1+bytes.Count(text, []byte{','})/2)
	}
	p.at.Vertex = 0
	for len(text) > 0 {
		n := indexBlank(text)
		if n > 0 {
			p.at.Vertex++
			c, problem := tuple(string(text[:n]))
			if problem != "" {
				p.at.Line = line
				return nil, p.fail(problem, tupleHint)
			}
			out = append(out, c)
		}
		if n < len(text) {
			if text[n] == '\n' {
				line++
			}
			n++
		}
		text = text[n:]
	}
	p.at.Vertex = 0
	return out, nil
}

func blank(c byte) bool { return c == ' ' || c == '\n' || c == '\r' || c == '\t' }

// indexBlank is where the first blank stands, or len(b).
func indexBlank(b []byte) int {
	for i, c := range b {
		if blank(c) {
			return i
		}
	}
	return len(b)
}

// tuple reads longitude,latitude[,height]. The number of commas is right.
func tuple(s string) (c format.Coord, problem string) {
	whole := s
	c.Z = math.NaN()
	for i, v := range [...]*float64{&c.X, &c.Y, &c.Z} {
		text, rest, more := strings.Cut(s, ",")
		if i == 2 && (text == "" || strings.EqualFold(text, "nan")) {
			return c, ""
		}
		if *v, problem = markup.Number(text, [...]string{"longitude", "latitude", "height"}[i]); problem != "" {
			return c, fmt.Sprintf("%s in %s", problem, markup.Clip(whole))
		}
		if s = rest; !more {
			break
		}
	}
	return c, ""
}

// sound reports whether every word is two or three numbers by their commas.
func sound(text []byte) bool {
	for len(text) > 0 {
		n := indexBlank(text)
		if n > 0 {
			if k := bytes.Count(text[:n], []byte{','}); k < 1 || k > 2 || text[0] == ',' || text[n-1] == ',' && k == 1 {
				return false
			}
		}
		text = text[min(n+1, len(text)):]
	}
	return true
}

// untangled reads a list that has blanks within positions,
//
//	15.1, 46.9, 0 15.2, 46.9, 0
//
// or commas between them,
//
//	15.1,46.9, 15.2,46.9,
//
// if just one of the two readings gives positions of the same length, two or
// three. In the result blanks stand between positions only.
func (p *placemark) untangled(text []byte, line int) ([]byte, error) {
	var readings [][]string
	for _, words := range [...][]string{joined(string(text)), trimmed(string(text))} {
		if alike(words) {
			readings = append(readings, words)
		}
	}
	if len(readings) == 1 {
		p.tally.Add(blanks, p.f.Number, 1)
		return []byte(strings.Join(readings[0], " ")), nil
	}
	for i, w := range strings.Fields(string(text)) {
		if !sound([]byte(w)) {
			p.at.Vertex = i + 1
			lead, _, _ := bytes.Cut(text, []byte(w))
			p.at.Line = line + bytes.Count(lead, []byte{'\n'})
			return nil, p.fail(fmt.Sprintf("%s is no position, and blanks and commas do not tell where positions end", markup.Clip(w)), tupleHint)
		}
	}
	return nil, p.fail(markup.Clip(strings.TrimSpace(string(text)))+" can be read as positions in two ways", tupleHint)
}

// joined takes blanks beside commas away.
func joined(text string) []string {
	var b strings.Builder
	words := strings.Fields(text)
	for i, w := range words {
		if i > 0 && !strings.HasSuffix(words[i-1], ",") && !strings.HasPrefix(w, ",") {
			b.WriteByte(' ')
		}
		b.WriteString(w)
	}
	return strings.Fields(b.String())
}

// trimmed takes the comma behind each word away.
func trimmed(text string) []string {
	words := strings.Fields(text)
	for i := range words {
		words[i] = strings.TrimSuffix(words[i], ",")
	}
	return words
}

// alike reports whether all words have the same count of numbers, two or
// three, and none is empty.
func alike(words []string) bool {
	want := 0
	for _, w := range words {
		parts := strings.Split(w, ",")
		if want == 0 {
			want = len(parts)
		}
		if len(parts) != want || want < 2 || want > 3 {
			return false
		}
		for _, part := range parts {
			if part == "" {
				return false
			}
		}
	}
	return want > 0
}

// coord reads a position of a track, "longitude latitude height".
func (p *placemark) coord() (c format.Coord, empty bool, err error) {
	text, _, err := p.Text()
	if err != nil {
		return c, false, err
	}
	words := strings.Fields(string(text))
	c.Z = math.NaN()
	switch {
	case len(words) == 0:
		return c, true, nil
	case len(words) < 2 || len(words) > 3:
		return c, false, p.fail(fmt.Sprintf("%s is no position", markup.Clip(string(text))), "a position of a track is longitude, latitude and height with blanks between them")
	}
	for i, v := range []*float64{&c.X, &c.Y, &c.Z}[:len(words)] {
		problem := ""
		if *v, problem = markup.Number(words[i], [...]string{"longitude", "latitude", "height"}[i]); problem != "" {
			return c, false, p.fail(problem, "")
		}
	}
	return c, false, nil
}
