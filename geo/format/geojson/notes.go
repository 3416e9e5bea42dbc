package geojson

import (
	"fmt"
	"strings"

	"hemrow/geo"
	"hemrow/geo/format"
)

// What is counted while reading. Those named note become notes.
const (
	noteBOM = iota
	noteUTF16
	noteCRS
	noteLeft
	noteEmpty
	noteHeight
	noteZero
	noteExtra
	noteText
	noteComma
	noteRecoded
	noteEsri
	notesEnd
)

const (
	seenFlat   = notesEnd + iota // positions of two numbers
	seenZero                     // heights of exactly 0
	seenHeight                   // other heights
	tallyEnd
)

type tally [tallyEnd]int

// noteFor is the note of one kind; n is how often it was met.
func noteFor(kind, n int, place string) geo.Note {
	note := geo.Note{Place: place, Severity: geo.Info, Value: float64(n)}
	switch kind {
	case noteBOM:
		note.Code, note.Value = geo.NoteByteMark, 0
		note.Text = "a byte order mark at the beginning was passed over"
	case noteUTF16:
		note.Code, note.Value = geo.NoteRecoded, 0
		note.Text = "the file is written in UTF-16 and was recoded"
		note.Hint = "GeoJSON is written in UTF-8 (RFC 7946 section 11, 2016)"
	case noteCRS:
		note.Code, note.Value = geo.NoteOldCRSMember, 0
		note.Text = "the crs member of the GeoJSON draft of 2008 was read"
	case noteLeft:
		note.Code, note.Severity, note.Unit = geo.NoteFeatureLeft, geo.Caution, "features"
		note.Text = plural(n, "feature without geometry was left out", "features without geometry were left out")
		note.Hint = "draw its outline, or take it out of the file"
	case noteEmpty:
		note.Code, note.Unit = geo.NoteGeometryLeft, "shapes"
		note.Text = plural(n, "empty shape was left out", "empty shapes were left out")
	case noteHeight:
		note.Code, note.Severity, note.Unit = geo.NoteHeightMissing, geo.Caution, "vertices"
		note.Text = plural(n, "vertex has no height (missing, -9999, beyond 1e30 or not a number) where one is expected",
			"vertices have no height (missing, -9999, beyond 1e30 or not a number) where one is expected")
		note.Hint = "survey these again if their heights are needed"
	case noteZero:
		note.Code, note.Unit = geo.NoteHeightMissing, "vertices"
		note.Text = plural(n, "height is exactly 0 and there is no other: taken as not known",
			"heights are all exactly 0: taken as not known")
	case noteExtra:
		note.Code, note.Unit = geo.NoteExtraNumber, "vertices"
		note.Text = plural(n, "vertex has more numbers than longitude, latitude and height; they were dropped",
			"vertices have more numbers than longitude, latitude and height; they were dropped")
	case noteText:
		note.Code, note.Unit = geo.NoteTextNumber, "numbers"
		note.Text = plural(n, "coordinate was written as text and was read as a number", "coordinates were written as text and were read as numbers")
	case noteComma:
		note.Code, note.Severity, note.Unit = geo.NoteTextNumber, geo.Caution, "numbers"
		note.Text = plural(n, "coordinate was text with a decimal comma", "coordinates were text with a decimal comma")
		note.Hint = "check that the comma is not a separator of thousands"
	case noteRecoded:
		note.Code, note.Unit = geo.NoteRecoded, "texts"
		note.Text = plural(n, "text is not UTF-8 and was read as Windows-1252", "texts are not UTF-8 and were read as Windows-1252")
	case noteEsri:
		note.Code, note.Value = geo.NoteForeignShape, 0
		note.Text = "Esri JSON was read: clockwise rings are outer ones"
	}
	return note
}

func plural(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, many)
}

// notes are those of one feature.
func (t *tally) notes(file string, f format.Feature) geo.Notes {
	var out geo.Notes
	for kind := range notesEnd {
		if t[kind] > 0 {
			place := (&geo.InputError{Feature: f.Number, Name: f.Name}).Place()
			out = append(out, noteFor(kind, t[kind], file+": "+place))
		}
	}
	return out
}

// tallies sums the tallies of a file and remembers whose they are.
type tallies struct {
	sum      tally
	features [notesEnd][]int
}

func (ts *tallies) add(t *tally, number int) {
	for kind := range notesEnd {
		if t[kind] > 0 {
			ts.sum[kind] += t[kind]
			ts.features[kind] = append(ts.features[kind], number)
		}
	}
}

// notes are one note of each kind for the whole file.
func (ts *tallies) notes(file string) geo.Notes {
	var out geo.Notes
	for kind := range notesEnd {
		if n := ts.sum[kind]; n > 0 {
			out = append(out, noteFor(kind, n, file+": "+listed(ts.features[kind])))
		}
	}
	return out
}

// listed is feature numbers in words, the first ten of them.
func listed(numbers []int) string {
	const most = 10
	words := make([]string, 0, most)
	for _, n := range numbers[:min(len(numbers), most)] {
		words = append(words, fmt.Sprint(n))
	}
	s := "features "
	if len(numbers) == 1 {
		s = "feature "
	}
	s += strings.Join(words, ", ")
	if more := len(numbers) - most; more > 0 {
		s += fmt.Sprintf(" and %d more", more)
	}
	return s
}
