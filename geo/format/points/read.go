package points

import (
	"bytes"
	"errors"
	"fmt"
	"io"

	"hemrow/geo"
	"hemrow/geo/format"
)

// MaxBytes is the size of the largest file that is read.
const MaxBytes = 512 << 20

// The properties of a feature made of points.
const (
	// PropNames and PropCodes are []string, one for each point.
	PropNames = "names"
	PropCodes = "codes"
	// PropHeightUnit and PropUnit are the units of heights and of eastings and
	// northings, if the header states them: m, ft or us-ft.
	PropHeightUnit = "height_unit"
	PropUnit       = "unit"
)

// Options decide what a file leaves open. The zero value decides nothing.
type Options struct {
	// Columns says what the columns hold, instead of the header: a letter each
	// (P point, N northing, E easting, Z or H height, D description, - nothing:
	// "PNEZD"), or a word each ("lon lat h").
	Columns string
	// Decimal is the decimal mark, "point" or "comma".
	Decimal string
}

// Read reads a whole file. name is the file as the user named it.
//
// The result has one feature for all points, or one for each line, string,
// block or part that a column names; rows with a shape in well-known text are a
// feature each. The first fault ends the reading; it names line, column and
// value.
func Read(name string, r io.Reader, opt Options) (format.File, error) {
	rd := &reader{out: format.File{Name: name, Format: "delimited text"}, opt: opt}
	if err := rd.read(r); err != nil {
		var e *geo.InputError
		if !errors.As(err, &e) {
			return format.File{Name: name, Format: rd.out.Format}, fmt.Errorf("%s: %w", name, err)
		}
		e.File = name
		return format.File{Name: name, Format: rd.out.Format}, e
	}
	return rd.out, nil
}

// reader reads one file.
type reader struct {
	out   format.File
	opt   Options
	src   *source
	split splitter
	lay   layout
	guess int // texts that were no UTF-8
}

func (rd *reader) read(r io.Reader) error {
	rd.src = newSource(r)
	if err := rd.src.open(); err != nil {
		return err
	}
	rd.out.Notes = rd.src.notes(rd.out.Name)
	if err := rd.decide(rd.src.sample()); err != nil {
		return err
	}
	read := rd.points
	if rd.lay.at(roleShape) >= 0 {
		read = rd.shapes
	}
	if err := read(); err != nil {
		return err
	}
	if rd.guess > 0 {
		rd.note(geo.NoteTextGuessed, geo.Info, fmt.Sprintf("%s not in UTF-8 read as Windows-1252", geo.Counted(rd.guess, "text")), "", rd.guess, "texts")
	}
	return nil
}

func (rd *reader) note(code geo.Code, s geo.Severity, text, hint string, n int, unit string) {
	rd.out.Notes = append(rd.out.Notes, geo.Note{
		Code: code, Severity: s, Place: rd.out.Name, Text: text, Hint: hint, Value: float64(n), Unit: unit,
	})
}

// row is one line of the table, its fields valid until the next.
type row struct {
	line   int
	fields [][]byte
}

// next reads the next row that holds anything. It returns io.EOF at the end.
func (rd *reader) next() (row, error) {
	for {
		b, err := rd.src.next()
		if err != nil {
			return row{}, err
		}
		if passOver(b) {
			continue
		}
		at := rd.src.line
		fields, fault := rd.split.fields(b)
		if fault == quoteOpen {
			if fields, fault, err = rd.untilClosed(b); err != nil {
				return row{}, err
			}
		}
		if fault != quoteFine {
			problem := map[quoteFault]string{quoteOpen: "a quotation mark is never closed", quoteStray: "text follows after a closing quotation mark"}[fault]
			return row{}, &geo.InputError{Line: at, Problem: problem, Hint: `inside quoted text, a quotation mark is written twice: ""`}
		}
		if rd.lay.pairs {
			fields = joinPairs(fields)
		}
		if !allEmpty(fields) {
			return row{at, fields}, nil
		}
	}
}

// maxTries is how often a row whose quotation marks span lines is cut anew.
const maxTries = 100

// untilClosed adds lines to the row until its quotation marks are closed.
func (rd *reader) untilClosed(b []byte) ([][]byte, quoteFault, error) {
	for tries := 0; tries < maxTries; {
		had := len(b)
		var err error
		if b, err = rd.src.extend(); errors.Is(err, io.EOF) {
			break
		} else if err != nil {
			return nil, quoteOpen, err
		}
		if added := b[min(had, len(b)):]; bytes.Count(added, []byte{'"'}) == 2*bytes.Count(added, []byte(`""`)) {
			continue // doubled ones close nothing
		}
		if fields, fault := rd.split.fields(b); fault != quoteOpen {
			return fields, fault, nil
		}
		tries++
	}
	return nil, quoteOpen, nil
}

// checkWidth refuses a row with more or fewer fields than the table has columns;
// empty ones at the end do not count.
func (rd *reader) checkWidth(r row) error {
	want, have := len(rd.lay.roles), len(r.fields)
	for have > want && len(r.fields[have-1]) == 0 {
		have--
	}
	if have == want {
		return nil
	}
	first := "the first row"
	if rd.lay.titles != nil {
		first = "the header"
	}
	e := &geo.InputError{
		Line:    r.line,
		Problem: fmt.Sprintf("%s where %s has %d: %s", geo.Counted(have, "column"), first, want, quoted(r.fields)),
		Hint:    "put text that holds the separator in quotation marks, and leave no column out",
	}
	if rd.split.sep == ',' && have > want {
		e.Hint = "if the comma is the decimal mark, set the columns apart with semicolons; put text that holds commas in quotation marks"
	}
	return e
}
