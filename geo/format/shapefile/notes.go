package shapefile

import (
	"fmt"
	"strings"

	"hemrow/geo"
	"hemrow/geo/format"
)

// What is counted while reading shapes, and becomes notes.
const (
	noteLeft = iota
	noteEmpty
	noteHeight
	noteZero
	noteMeasure
	noteRole
	noteText
	notesEnd
)

// tally is what was counted in one feature.
type tally struct {
	count    [notesEnd]int
	roleArea float64 //unit:square units of the file, of the rings counted by noteRole
}

// noteFor is the note of one kind.
func (t *tally) noteFor(kind int, place string) geo.Note {
	n := t.count[kind]
	note := geo.Note{Place: place, Severity: geo.Info, Value: float64(n)}
	switch kind {
	case noteLeft:
		note.Code, note.Severity, note.Unit = geo.NoteFeatureLeft, geo.Caution, "features"
		note.Text = plural(n, "feature without a shape was left out", "features without a shape were left out")
		note.Hint = "draw its outline, or take it out of the file"
	case noteEmpty:
		note.Code, note.Unit = geo.NoteGeometryLeft, "parts"
		note.Text = plural(n, "part without vertices was left out", "parts without vertices were left out")
	case noteHeight:
		note.Code, note.Severity, note.Unit = geo.NoteHeightMissing, geo.Caution, "vertices"
		note.Text = plural(n, "vertex has no height (-9999, beyond 1e30 or not a number) where one is expected",
			"vertices have no height (-9999, beyond 1e30 or not a number) where one is expected")
		note.Hint = "survey these again if their heights are needed"
	case noteZero:
		note.Code, note.Unit = geo.NoteHeightMissing, "vertices"
		note.Text = plural(n, "height is exactly 0 and there is no other: taken as not known",
			"heights are all exactly 0: taken as not known")
	case noteMeasure:
		note.Code, note.Unit = geo.NoteMeasureLeft, "vertices"
		note.Text = plural(n, "vertex has a measure, a number along the line; it was dropped",
			"vertices have a measure, a number along the line; they were dropped")
	case noteRole:
		note.Code, note.Severity = geo.NoteRingRole, geo.Caution
		note.Value, note.Unit = t.roleArea, "square units of the file"
		note.Text = fmt.Sprintf("%s in the direction of an outer ring inside another outer ring, %g square units of the file together: taken as %s",
			plural(n, "ring runs", "rings run"), rounded(t.roleArea), pick(n, "a hole", "holes"))
		note.Hint = "if it is ground to plant, draw it as a feature of its own"
	case noteText:
		return guessedNote(n, place)
	}
	return note
}

// rounded is a size with four digits.
func rounded(v float64) float64 { //unit:that of v
	var out float64
	if _, err := fmt.Sscan(fmt.Sprintf("%.4g", v), &out); err != nil {
		return v
	}
	return out
}

func pick(n int, one, many string) string {
	if n == 1 {
		return one
	}
	return many
}

func plural(n int, one, many string) string { return fmt.Sprintf("%d %s", n, pick(n, one, many)) }

// notes are those of one feature.
func (t *tally) notes(file string, f format.Feature) (out geo.Notes) {
	for kind := range notesEnd {
		if t.count[kind] > 0 {
			place := (&geo.InputError{Feature: f.Number, Name: f.Name}).Place()
			out = append(out, t.noteFor(kind, file+": "+place))
		}
	}
	return out
}

// tallies sums the tallies of a layer and remembers whose they are.
type tallies struct {
	sum      tally
	features [notesEnd]fewNumbers
}

const mostListed = 10

// fewNumbers are the first few of many numbers.
type fewNumbers struct {
	first []int
	count int
}

func (ts *tallies) add(t *tally, feature int) {
	ts.sum.roleArea += t.roleArea
	for kind, n := range t.count {
		if n == 0 {
			continue
		}
		ts.sum.count[kind] += n
		few := &ts.features[kind]
		few.count++
		if len(few.first) < mostListed {
			few.first = append(few.first, feature)
		}
	}
}

// notes are one note of each kind for the whole layer.
func (ts *tallies) notes(file string) (out geo.Notes) {
	for kind := range notesEnd {
		if ts.sum.count[kind] > 0 {
			out = append(out, ts.sum.noteFor(kind, file+": "+ts.features[kind].String()))
		}
	}
	return out
}

// String is the numbers in words.
func (f fewNumbers) String() string {
	words := make([]string, len(f.first))
	for i, n := range f.first {
		words[i] = fmt.Sprint(n)
	}
	s := pick(f.count, "feature ", "features ") + strings.Join(words, ", ")
	if more := f.count - len(f.first); more > 0 {
		s += fmt.Sprintf(" and %d more", more)
	}
	return s
}
