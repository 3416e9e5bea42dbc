package geo

import "fmt"

// Severity grades a note.
type Severity int

// The three grades: for information; needs a look before driving or ordering;
// somebody can be hurt or the plan fails.
const (
	Info Severity = iota
	Caution
	Serious
)

// String is info, caution or serious.
func (s Severity) String() string { return [...]string{"info", "caution", "serious"}[s] }

// Code names a kind of note. Codes are a closed list ([Codes]), each raised by
// a test, none ever used again for something else.
type Code string

// Note tells the reader something about a number that stands. If no number
// could be trusted it would be an error instead.
type Note struct {
	Code     Code
	Severity Severity
	Place    string // where: file and feature, block, row; "" for the whole field
	Text     string // what was found or done
	Hint     string // what to do, if anything

	// Value and Limit are the figures behind the note in Unit; all zero when
	// the note has none.
	Value float64 //unit:see Unit
	Limit float64 //unit:see Unit
	Unit  string
}

// String prints a note on one line without its hint.
func (n Note) String() string {
	if n.Place == "" {
		return fmt.Sprintf("%s: %s", n.Severity, n.Text)
	}
	return fmt.Sprintf("%s: %s: %s", n.Severity, n.Place, n.Text)
}

// Notes are in the order they arose.
type Notes []Note

// Worst is the highest severity among the notes; ok is false for none at all.
func (ns Notes) Worst() (s Severity, ok bool) {
	for _, n := range ns {
		s = max(s, n.Severity)
	}
	return s, len(ns) > 0
}

// Count is the number of notes with at least the severity.
func (ns Notes) Count(least Severity) (k int) {
	for _, n := range ns {
		if n.Severity >= least {
			k++
		}
	}
	return k
}
