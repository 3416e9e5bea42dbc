package points

import (
	"errors"
	"fmt"
	"io"

	"hemrow/geo"
	"hemrow/geo/format"
	"hemrow/geo/format/encoded"
	"hemrow/geo/format/wkt"
)

// shapes reads rows with a shape in well-known text, a feature each, the other
// columns as its properties. Rows without a shape are left out with a note.
func (rd *reader) shapes() error {
	col := rd.lay.at(roleShape)
	var sum wkt.Found
	number, left := 0, 0
	for {
		r, err := rd.next()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return err
		}
		if r.line == rd.lay.skip {
			continue
		}
		if err := rd.checkWidth(r); err != nil {
			return err
		}
		number++
		if missing(r.fields[col]) {
			left++
			continue
		}
		f, found, err := wkt.ParseFound(string(r.fields[col]))
		empty := len(f.Points)+len(f.Lines)+len(f.Polygons) == 0
		if err == nil && !empty {
			err = rd.agree(found.Code)
		}
		if err != nil {
			return rd.inShape(err, r, col, number)
		}
		if empty {
			left++
			continue
		}
		sum.Add(found)
		f.Number, f.Line = number, r.line
		rd.describe(&f, r, col)
		rd.out.Features = append(rd.out.Features, f)
	}
	if len(rd.out.Features) == 0 {
		return &geo.InputError{Problem: "no row has a shape", Hint: "fill the column of shapes with well-known text, such as POLYGON ((...))"}
	}
	if left > 0 {
		rd.note(geo.NoteFeatureLeft, geo.Caution, fmt.Sprintf("left out: %s without a shape", geo.Counted(left, "row")), "draw its outline, or take it out of the file", left, "features")
	}
	rd.out.Notes = append(rd.out.Notes, sum.Notes(rd.out.Name)...)
	return nil
}

// agree holds the SRID of a row against that of the file.
func (rd *reader) agree(code int) error {
	have := rd.out.Reference.Code
	if len(rd.out.Features) == 0 && code > 0 {
		rd.out.Reference = format.Reference{Code: code, Declared: fmt.Sprintf("SRID=%d", code)}
		return nil
	}
	if code == have {
		return nil
	}
	return &geo.InputError{
		Line:    1,
		Problem: fmt.Sprintf("this shape has SRID %d, those before it have %d (0 is none)", code, have),
		Hint:    "bring all shapes of the file into one system",
	}
}

// inShape puts the place in the file on an error of a shape.
func (rd *reader) inShape(err error, r row, col, number int) error {
	var e *geo.InputError
	if !errors.As(err, &e) {
		return err
	}
	e.Line += r.line - 1
	e.Feature = number
	e.Problem = fmt.Sprintf("shape in column %d of the table: %s", col+1, e.Problem)
	if len(e.Hint) == 0 {
		e.Hint = "a shape that holds the separator is put in quotation marks"
	}
	return e
}

// describe gives a feature its name and the other columns as properties.
func (rd *reader) describe(f *format.Feature, r row, shape int) {
	f.Properties = make(map[string]any, len(rd.lay.roles))
	for i, role := range rd.lay.roles {
		if i == shape || i >= len(r.fields) {
			continue
		}
		s, guessed := encoded.Text(r.fields[i])
		if guessed {
			rd.guess++
		}
		key := fmt.Sprintf("column %d", i+1)
		if i < len(rd.lay.titles) && rd.lay.titles[i] != "" {
			key = rd.lay.titles[i]
		}
		f.Properties[key] = s
		if role == roleName {
			f.Name = s
		}
	}
}
