package markup

import (
	"fmt"
	"slices"
	"strings"

	"hemrow/geo"
)

// Kind is what is counted while reading and becomes one note for a whole file.
type Kind struct {
	Code      geo.Code
	Severity  geo.Severity
	Unit      string // what is counted
	One, Many string // the text behind the count
	Hint      string
}

// Kinds of note that every format raises.
var (
	HeightMissing = Kind{
		geo.NoteHeightMissing, geo.Caution, "vertices",
		"vertex has no height (missing, -9999 or beyond 1e30) where one is expected",
		"vertices have no height (missing, -9999 or beyond 1e30) where one is expected",
		"survey these again if their heights are needed",
	}
	HeightZero = Kind{
		geo.NoteHeightMissing, geo.Info, "vertices",
		"height is exactly 0 and there is no other: taken as not known",
		"heights are all exactly 0: taken as not known", "",
	}
	ShapeEmpty = Kind{geo.NoteGeometryLeft, geo.Info, "shapes", "empty shape was left out", "empty shapes were left out", ""}
)

// Tally counts by kind and remembers which features it counted in.
type Tally struct {
	order []Kind
	count map[Kind]*count
}

type count struct {
	sum      int
	features []int // from 1
}

// Add counts n of a kind in a feature; feature 0 stands for the whole file.
func (t *Tally) Add(k Kind, feature, n int) {
	if n == 0 {
		return
	}
	c := t.count[k]
	if c == nil {
		if t.count == nil {
			t.count = map[Kind]*count{}
		}
		c = &count{}
		t.count[k] = c
		t.order = append(t.order, k)
	}
	c.sum += n
	if last := len(c.features) - 1; feature > 0 && (last < 0 || c.features[last] != feature) {
		c.features = append(c.features, feature)
	}
}

// Heights counts what [Settle] found in a feature, and above is the kind of
// note for heights that are known.
func (t *Tally) Heights(h Heights, feature int, above Kind) {
	t.Add(HeightMissing, feature, h.Missing)
	t.Add(HeightZero, feature, h.Zero)
	t.Add(above, feature, h.Known)
}

// Notes are one for each kind, in the order they were met first.
func (t *Tally) Notes(file string) geo.Notes {
	var out geo.Notes
	for _, k := range t.order {
		c := t.count[k]
		text := k.One
		if c.sum != 1 {
			text = k.Many
		}
		out = append(out, geo.Note{
			Code: k.Code, Severity: k.Severity, Place: place(file, c.features),
			Text: fmt.Sprintf("%d %s", c.sum, text), Hint: k.Hint,
			Value: float64(c.sum), Unit: k.Unit,
		})
	}
	return out
}

// place is the file and feature numbers in words, the first ten of them.
func place(file string, numbers []int) string {
	const most = 10
	if len(numbers) == 0 {
		return file
	}
	numbers = slices.Compact(slices.Sorted(slices.Values(numbers)))
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
	return file + ": " + s
}
