package report

import (
	"math"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	"hemrow/geo"
)

// usUnits are the words of the document's unit systems.
const usUnits = "us"

// clean makes text from a file one line without anything that draws on a
// terminal or turns the reading direction of what follows.
func clean(s string) string {
	s = strings.Map(func(r rune) rune {
		switch {
		case unicode.IsSpace(r):
			return ' '
		case unicode.IsControl(r), unicode.Is(unicode.Bidi_Control, r), r == '\uFEFF', r == utf8.RuneError, r&0xFFFE == 0xFFFE:
			return -1
		}
		return r
	}, s)
	return strings.Join(strings.Fields(s), " ")
}

// named is clean, with a word in place of nothing.
func named(s, otherwise string) string {
	if s = clean(s); s == "" {
		return otherwise
	}
	return s
}

// conversion is a unit in another system: how many of the document's unit make
// one of it.
type conversion struct {
	unit string
	size float64
}

// inUS is what each unit of a document becomes for readers in US units.
func inUS(unit string) (conversion, bool) {
	c, ok := map[string]conversion{
		"m":     {"ft", geo.FootM},
		"km":    {"mi", geo.MileM / 1000},
		"mm":    {"in", geo.InchM * 1000},
		"um":    {"mil", geo.MilUm},
		"m2":    {"sq ft", geo.SquareFootM2},
		"ha":    {"acres", geo.AcreM2 / geo.HectareM2},
		"m3":    {"yd3", geo.CubicYardM3},
		"L":     {"gal", geo.USGallonL},
		"L/h":   {"gal/h", geo.USGallonPerHourLPH},
		"kg":    {"lb", geo.PoundKg},
		"t":     {"lb", geo.PoundKg / geo.TonneKg},
		"kg/m3": {"lb/yd3", geo.PoundPerYd3KgM3},
		"kg/m":  {"lb/ft", geo.PoundKg / geo.FootM},
		"kg/m2": {"lb/sq ft", geo.PoundKg / geo.SquareFootM2},

		"plants/ha": {"plants/acre", geo.HectareM2 / geo.AcreM2},
		"m3/ha":     {"yd3/acre", geo.CubicYardM3 * geo.HectareM2 / geo.AcreM2},
		"m/s":       {"mph", geo.MilePerHourMS},
		"kPa":       {"psi", geo.PSIPa / 1000},
		"Pa":        {"psi", geo.PSIPa},
	}[unit]
	return c, ok
}

// converted is a figure of the document in the reader's units.
func converted(v float64, unit, units string) (value float64, inUnit string) {
	if units == usUnits {
		if c, ok := inUS(unit); ok {
			return v / c.size, c.unit
		}
	}
	return v, unit
}

// figure prints a number for people: whole ones as such, others with as many
// decimals as their size bears.
func figure(v float64) string {
	a := math.Abs(v)
	switch {
	case v == math.Trunc(v) && a < 1e15:
		return strconv.FormatFloat(v+0, 'f', 0, 64)
	case a >= 100:
		return strconv.FormatFloat(v, 'f', 1, 64)
	case a >= 1:
		return strconv.FormatFloat(v, 'f', 2, 64)
	}
	return strconv.FormatFloat(v, 'g', 3, 64)
}

// amount is a figure with its unit, in the reader's units.
func amount(v float64, unit, units string) string {
	v, unit = converted(v, unit, units)
	return strings.TrimSpace(figure(v) + " " + clean(unit))
}

// length is a length to the decimetre, or to a tenth of a foot.
func length(lengthM float64, units string) string {
	v, unit := converted(lengthM, "m", units)
	return strconv.FormatFloat(v, 'f', 1, 64) + " " + unit
}

// area is an area in the unit that growers use for its size.
func area(areaM2 float64, units string) string {
	if units == usUnits {
		if a := areaM2 / geo.AcreM2; a >= 0.1 {
			return strconv.FormatFloat(a, 'f', 2, 64) + " acres"
		}
		return strconv.FormatFloat(areaM2/geo.SquareFootM2, 'f', 0, 64) + " sq ft"
	}
	if ha := areaM2 / geo.HectareM2; ha >= 0.1 {
		return strconv.FormatFloat(ha, 'f', 2, 64) + " ha"
	}
	return strconv.FormatFloat(areaM2, 'f', 0, 64) + " m2"
}

// cut shortens text to so many characters.
func cut(s string, most int) string {
	if utf8.RuneCountInString(s) <= most {
		return s
	}
	r := []rune(s)
	return strings.TrimSpace(string(r[:max(0, most-3)])) + "..."
}

// pad fills text with spaces on the right, by characters.
func pad(s string, width int) string {
	return s + strings.Repeat(" ", max(0, width-utf8.RuneCountInString(s)))
}

// wrap breaks text into lines of at most width characters; a longer word is
// broken too.
func wrap(s string, width int) []string {
	var lines []string
	line := ""
	for _, word := range strings.Fields(s) {
		for utf8.RuneCountInString(word) > width {
			if line != "" {
				lines, line = append(lines, line), ""
			}
			r := []rune(word)
			lines, word = append(lines, string(r[:width])), string(r[width:])
		}
		switch {
		case line == "":
			line = word
		case utf8.RuneCountInString(line)+1+utf8.RuneCountInString(word) <= width:
			line += " " + word
		default:
			lines, line = append(lines, line), word
		}
	}
	if line != "" || len(lines) == 0 {
		lines = append(lines, line)
	}
	return lines
}

// one is a unit in the singular, where it is a noun and there is just one.
func one(v float64, unit string) string {
	if v == 1 && len(unit) > 3 && !strings.Contains(unit, "/") {
		return strings.TrimSuffix(unit, "s")
	}
	return unit
}

// span is from to to, or the one where both are the same.
func span(from, to string) string {
	if from == to {
		return from
	}
	return from + " to " + to
}
