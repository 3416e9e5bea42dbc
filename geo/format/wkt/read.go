package wkt

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"strings"

	"hemrow/geo"
	"hemrow/geo/format"
	"hemrow/geo/format/encoded"
)

// MaxBytes is the size of the largest file that is read.
const MaxBytes = 512 << 20

// Read reads all geometries of a file, a feature each. name is the file as the
// user named it.
//
// Empty geometries are left out with a note; a file that has no other is
// refused. All geometries must name the same SRID, or none. The first fault
// ends the reading.
func Read(name string, r io.Reader) (format.File, error) {
	out := format.File{Name: name, Format: "well-known text"}
	data, err := io.ReadAll(io.LimitReader(r, MaxBytes+1))
	if err != nil {
		return out, fmt.Errorf("%s: %w", name, err)
	}
	if len(data) > MaxBytes {
		return out, &geo.InputError{File: name, Problem: fmt.Sprintf("the file is larger than %d MiB", MaxBytes>>20), Hint: "divide it"}
	}
	data, notes, err := decoded(name, data)
	if err != nil {
		return out, err
	}
	out.Notes = notes
	p := parser{s: string(data)}
	if err := p.all(&out); err != nil {
		var e *geo.InputError
		if errors.As(err, &e) {
			e.File = name
		}
		return format.File{Name: name, Format: out.Format, Reference: out.Reference}, err
	}
	return out, nil
}

// all reads every geometry of the text into out.
func (p *parser) all(out *format.File) error {
	var sum Found
	number, left := 0, []string{}
	line, counted := 1, 0 // the line at s[counted]
	for p.skipBetween(); p.i < len(p.s); p.skipBetween() {
		number++
		start := p.i
		line += strings.Count(p.s[counted:start], "\n")
		counted = start
		f, err := p.whole()
		empty := len(f.Points)+len(f.Lines)+len(f.Polygons) == 0
		if err == nil && !empty {
			err = p.agree(out, start)
		}
		if err != nil {
			var e *geo.InputError
			if errors.As(err, &e) {
				e.Feature = number
			}
			return err
		}
		if empty {
			left = append(left, fmt.Sprint(number))
			continue
		}
		f.Number, f.Line = number, line
		out.Features = append(out.Features, f)
		sum.Add(p.found)
	}
	if len(out.Features) == 0 {
		e := &geo.InputError{Problem: "the file holds no geometry", Hint: "export the outline as POLYGON"}
		if number > 0 {
			e.Problem = "the file holds nothing but " + geo.Counted(number, "empty shape")
		}
		return e
	}
	if len(left) > 0 {
		out.Notes = append(out.Notes, leftOut(out.Name, left))
	}
	out.Notes = append(out.Notes, sum.Notes(out.Name)...)
	return nil
}

// skipBetween passes over what may stand between geometries: blanks,
// semicolons, and lines that start with #.
func (p *parser) skipBetween() {
	for {
		p.gap()
		switch c := p.cur(); {
		case c == ';':
			p.i++
		case c == '#' && strings.TrimLeft(p.s[strings.LastIndexByte(p.s[:p.i], '\n')+1:p.i], " \t\r") == "":
			end := strings.IndexByte(p.s[p.i:], '\n')
			if end < 0 {
				p.i = len(p.s)
				return
			}
			p.i += end
		default:
			return
		}
	}
}

// agree holds the SRID of one geometry against that of the file.
func (p *parser) agree(out *format.File, start int) error {
	code := p.found.Code
	if len(out.Features) == 0 && code > 0 {
		out.Reference = format.Reference{Code: code, Declared: fmt.Sprintf("SRID=%d", code)}
	}
	if code == out.Reference.Code {
		return nil
	}
	p.at = place{}
	say := func(code int) string {
		if code == 0 {
			return "no SRID"
		}
		return fmt.Sprintf("SRID %d", code)
	}
	err := p.failAt(start, "this geometry has %s, those before it have %s", say(code), say(out.Reference.Code))
	err.Hint = "bring all geometries of the file into one system"
	return err
}

func leftOut(name string, numbers []string) geo.Note {
	const most = 10
	n := len(numbers)
	where := name + ": feature" + map[bool]string{true: "s"}[n > 1] + " " + strings.Join(numbers[:min(n, most)], ", ")
	if n > most {
		where += fmt.Sprintf(" and %d more", n-most)
	}
	return geo.Note{
		Code: geo.NoteFeatureLeft, Severity: geo.Caution, Place: where,
		Text: "left out: " + geo.Counted(n, "feature") + " with an empty geometry", Hint: "draw its outline, or take it out of the file",
		Value: float64(n), Unit: "features",
	}
}

// decoded brings the bytes of a file into UTF-8 and refuses what is no text.
func decoded(name string, b []byte) ([]byte, geo.Notes, error) {
	info := func(code geo.Code, text string) geo.Notes {
		return geo.Notes{{Code: code, Severity: geo.Info, Place: name, Text: text}}
	}
	var notes geo.Notes
	if little, ok := encoded.IsUTF16(b); ok {
		b, _ = io.ReadAll(encoded.UTF16(bytes.NewReader(b), little)) // memory has no error
		notes = info(geo.NoteRecoded, "the file is written in UTF-16 and was recoded")
	} else if bytes.HasPrefix(b, []byte("\xEF\xBB\xBF")) {
		b = b[3:]
		notes = info(geo.NoteByteMark, "a byte order mark at the beginning was passed over")
	}
	if i := bytes.IndexByte(b, 0); i >= 0 {
		return nil, nil, &geo.InputError{
			File: name, Line: 1 + bytes.Count(b[:i], []byte{'\n'}),
			Problem: "a zero byte: this is no text", Hint: "export the geometry as well-known text",
		}
	}
	return b, notes, nil
}
