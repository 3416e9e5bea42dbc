package plan

import (
	"fmt"
	"strings"
)

// EchoLine is one key of the full plan, as the result document records it.
type EchoLine struct {
	Section  string // "" at the top; plants[1] and so on for the plants
	Key      string
	Text     string // in SI with its unit, as [Plan.Override] takes it
	FromFile bool   // stood in the plan file and was not overridden
	FromFlag bool   // was set by a flag; otherwise it is a default
}

// Echo is the full plan with its defaults in the order of the file. Reading
// the lines back gives the same plan to the last bit.
func (p Plan) Echo() []EchoLine {
	var out []EchoLine
	line := func(section string, k Key, index int) {
		at, given := p.at[pathOf(section, k.Name)]
		out = append(out, EchoLine{
			Section: section, Key: k.Name, Text: k.codec.write(target{&p, index}),
			FromFile: given && !at.flag, FromFlag: given && at.flag,
		})
	}
	var plants []Key
	for _, k := range table() {
		if k.Section == "plants" {
			plants = append(plants, k)
			continue
		}
		line(k.Section, k, 0)
	}
	for i := range p.Rows.Plants {
		for _, k := range plants {
			line(fmt.Sprintf("plants[%d]", i+1), k, i)
		}
	}
	return out
}

// YAML writes the full plan as a plan file without comments, which [Parse]
// reads back to the same plan.
func (p Plan) YAML() []byte {
	var b strings.Builder
	section := ""
	for _, k := range table() {
		if k.Section == "plants" {
			continue
		}
		if k.Section != section {
			section = k.Section
			b.WriteString(section + ":\n")
		}
		if section != "" {
			b.WriteString("  ")
		}
		b.WriteString(k.Name + ": " + k.yamlText(k.codec.write(target{plan: &p})) + "\n")
	}
	b.WriteString("plants:\n")
	for i := range p.Rows.Plants {
		dash := "  - "
		for _, k := range plantKeys() {
			b.WriteString(dash + k.Name + ": " + k.yamlText(k.codec.write(target{&p, i})) + "\n")
			dash = "    "
		}
	}
	return []byte(b.String())
}

// yamlText puts a value in quotes where YAML would read something else.
func (k Key) yamlText(s string) string {
	if k.Kind == KindText || k.Kind == KindPath || s == "" {
		return quoteText(s)
	}
	return s
}
