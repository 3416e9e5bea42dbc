package plan

import (
	"fmt"
	"math"
	"strings"
	"unicode"
	"unicode/utf8"
)

// starterWidth is how wide a starter file may become, in characters.
const starterWidth = 100

// Starter writes a commented plan file for a field: every key with its default
// and a line on what it does. p is [Default] with the name, the outline as seen
// from the plan file, and what else is known; featureNote says in lines what the
// outline holds. In metric units [Parse] reads it back as p; in US units the
// lengths are rounded to what one would say.
func Starter(p Plan, featureNote string) []byte {
	p.Name, p.Field.Outline = oneLine(p.Name), oneLine(p.Field.Outline)
	var b strings.Builder
	b.WriteString(starterHead)
	if note := commentLines(featureNote); note != "" {
		b.WriteString("#\n# What the outline file holds:\n" + note)
	}
	b.WriteString("\n")
	section, titles := "", map[string]string{}
	for _, s := range sections() {
		titles[s[0]] = s[1]
	}
	for _, k := range table() {
		if k.Section == "plants" {
			continue
		}
		if k.Section != section {
			section = k.Section
			fmt.Fprintf(&b, "\n# %s.\n", titles[section])
			if section == "cover" {
				b.WriteString("# Each kind has defaults of its own: on changing it, take out the keys you do not set.\n")
			}
			b.WriteString(section + ":\n")
		}
		indent := ""
		if section != "" {
			indent = "  "
		}
		b.WriteString(starterLine(indent, k.Name+": "+k.starterText(&p), k.starterHelp()))
	}
	fmt.Fprintf(&b, "\n# %s.\n# Take the # away from an entry to use it.\nplants:\n", titles["plants"])
	b.WriteString(starterPlants(p.Units))
	return []byte(b.String())
}

const starterHead = `# Plan file for hemrow. Every key is here with its default and may be taken
# out; text behind a # is for people. Lengths and other measures carry a unit,
# any of these in any mix:
#   length    5 m, 60 cm, 150 mm, 80 um, 16 ft, 5 ft 6 in, 5'6", 6 in, 15 mil, 3 yd
#   angle     37 deg          percent   5 %           speed   20 m/s, 45 mph, 40 kn, 72 km/h
#   density   930 kg/m3, 0.93 g/cm3, 58 lb/ft3, 1570 lb/yd3
#   volume    12 m3, 16 yd3   mass      23 kg, 50 lb
`

// starterText is the key's value as the starter shows it.
func (k Key) starterText(p *Plan) string {
	t := target{plan: p}
	if p.Units == US {
		if s, ok := k.usText(t); ok {
			return s
		}
	}
	return k.yamlText(k.codec.write(t))
}

// usText is a measure in rounded US units; ok is false for all else.
func (k Key) usText(t target) (string, bool) {
	q, ok := k.codec.(quantity)
	if !ok {
		return "", false
	}
	dim := dimensionOf(k.Kind)
	if dim.us == dim.own {
		return "", false
	}
	return dim.usText(*q.at(t), sayable), true
}

// sayable rounds a figure to the first of 8, 85 and 84 that is off by less
// than 3 % of it, else to two figures.
func sayable(v float64) float64 {
	if v == 0 {
		return 0
	}
	step := math.Pow(10, math.Floor(math.Log10(math.Abs(v))))
	for _, s := range []float64{step, step / 2} {
		if r := math.Round(v/s) * s; math.Abs(r-v) < 0.03*math.Abs(v) {
			return figures(r, 2)
		}
	}
	return figures(v, 2)
}

// starterHelp is the help with the words to choose from.
func (k Key) starterHelp() string {
	if k.Kind != KindChoice || len(k.Choices) == 0 {
		return k.Help
	}
	var words []string
	for _, w := range k.Choices {
		if w != "" {
			words = append(words, w)
		}
	}
	return k.Help + ": " + strings.Join(words, ", ")
}

// starterLine puts the help behind the value, or above it where that would
// make the line too wide.
func starterLine(indent, entry, help string) string {
	const column = 34
	line := indent + entry
	pad := max(1, column-utf8.RuneCountInString(line))
	if utf8.RuneCountInString(line)+pad+2+utf8.RuneCountInString(help) <= starterWidth {
		return line + strings.Repeat(" ", pad) + "# " + help + "\n"
	}
	return indent + "# " + help + "\n" + line + "\n"
}

// starterPlants are sample entries, all behind a #.
func starterPlants(units Units) string {
	pitch, start, pitch2 := "4 m", "1 m", "3 m"
	if units == US {
		pitch, start, pitch2 = "13 ft", "3 ft", "10 ft"
	}
	help := map[string]string{}
	for _, k := range plantKeys() {
		help[k.Name] = k.Help
	}
	var b strings.Builder
	for _, e := range [][2]string{
		{"- plant: hazel", help["plant"]},
		{"  pitch: " + pitch, help["pitch"]},
		{"  start: " + start, help["start"]},
		{"  rows: 1 of 2", help["rows"]},
		{"- plant: plum", ""},
		{"  pitch: " + pitch2, ""},
		{"  rows: 2 of 2", ""},
	} {
		if e[1] == "" {
			b.WriteString("  # " + e[0] + "\n")
			continue
		}
		b.WriteString(starterLine("  ", "# "+e[0], e[1]))
	}
	return b.String()
}

// commentLines makes comment lines of text from elsewhere.
func commentLines(s string) string {
	var b strings.Builder
	for line := range strings.SplitSeq(s, "\n") {
		if line = strings.TrimSpace(oneLine(line)); line != "" {
			b.WriteString("#   " + line + "\n")
		}
	}
	return b.String()
}

// oneLine drops what would end a line or is no text, so that a name from a
// file cannot write keys of its own.
func oneLine(s string) string {
	return strings.Map(func(r rune) rune {
		if unicode.IsControl(r) || r == '\u2028' || r == '\u2029' || r == '\ufeff' || r == utf8.RuneError {
			return -1
		}
		return r
	}, s)
}
