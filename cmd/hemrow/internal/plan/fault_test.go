package plan

import (
	"errors"
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// told is every fault as a grower sees it: place, key, problem, and the hint.
func told(err error) []string {
	var out []string
	for _, e := range leaves(err) {
		s := e.Error()
		var f *Fault
		if errors.As(e, &f) && f.HintText() != "" {
			s += " | " + f.HintText()
		}
		out = append(out, s)
	}
	return out
}

func TestParseRefuses(t *testing.T) {
	rowKeysHere := "keys here: spacing, style, heading, heading_step, first_row, first_row_steps, headland, side_clearance, obstacle_clearance, side_angle, shortest_row, longest_run, cross_alley, start_side, turn_radius or piece_cost"
	lengths := "units here: mm, cm, m, km, in, ft, yd, mi, mil or um"
	for _, c := range []struct {
		name, text string
		want       []string
	}{
		// What is no plan file.
		{"empty", "", []string{"p.yaml: the file is empty | begin with hemrow_plan: 1, or let the program write a starter file"}},
		{"only comments", "# nothing\n", []string{"p.yaml: the file is empty | begin with hemrow_plan: 1, or let the program write a starter file"}},
		{"a word", "hazel\n", []string{"p.yaml:1:1: is no plan file: it has no keys | begin with hemrow_plan: 1"}},
		{"a list", "- hazel\n", []string{"p.yaml:1:1: is no plan file: it has no keys | begin with hemrow_plan: 1"}},
		{"no version", "rows:\n  spacing: x\n", []string{"p.yaml:1:1: hemrow_plan: is missing | begin the file with hemrow_plan: 1"}},
		{"another version", "hemrow_plan: 2\nrows:\n  spacing: x\n", []string{"p.yaml:1:14: hemrow_plan: the plan is of version 2, and this program reads version 1 | use a program of the plan's version, or begin from a new starter file"}},
		{"a version in words", "hemrow_plan: one\n", []string{`p.yaml:1:14: hemrow_plan: is "one" | write hemrow_plan: 1`}},
		{"too large", "# " + strings.Repeat("x", mostBytes), []string{"p.yaml: is larger than a plan file can be: 1048578 bytes, 1048576 allowed | check that this is a plan file"}},
		{"too many keys", "hemrow_plan: 1\n" + strings.Repeat("a: 1\n", mostTokens), []string{"p.yaml:6667:4: has more keys and values than a plan can have | check that this is a plan file"}},
		{"not UTF-8", "hemrow_plan: 1\nname: H\xe4sel\n", []string{"p.yaml:2:8: is no UTF-8 text | save the file as plain UTF-8 text"}},
		{"UTF-16", "h\x00e\x00", []string{"p.yaml:1:2: has a character that is no text: U+0000 | save the file as plain UTF-8 text"}},

		// What is no YAML, or more of it than a plan needs.
		{"tab", "hemrow_plan: 1\nrows:\n\tspacing: 5 m\n", []string{"p.yaml:3:1: is no YAML: found character '\t' that cannot start any token | set lines in with spaces, not with tabs"}},
		{"second colon", "hemrow_plan: 1\nname: Kestrel: Rise\n", []string{"p.yaml:2:7: is no YAML: mapping value is not allowed in this context | look for a second colon on the line, or a line that is set in too far; put text with a colon in quotes"}},
		{"open list", "hemrow_plan: 1\nfield:\n  obstacles: [a.geojson\n", []string{"p.yaml:3:14: is no YAML: sequence end token ']' not found"}},
		{"reserved character", "hemrow_plan: 1\nname: @home\n", []string{"p.yaml:2:7: is no YAML: '@' is a reserved character | put the text in quotes"}},
		{"anchor and alias", "hemrow_plan: 1\nrows:\n  headland: &h 6 m\n  cross_alley: *h\n", []string{
			"p.yaml:3:13: anchors and aliases are not read in a plan | write the values out, or put text that begins with & or * in quotes",
			"p.yaml:4:16: anchors and aliases are not read in a plan | write the values out, or put text that begins with & or * in quotes",
		}},
		{"merge", "hemrow_plan: 1\n<<: {name: x}\n", []string{"p.yaml:2:1: anchors and aliases are not read in a plan | write the values out, or put text that begins with & or * in quotes"}},
		{"tag", "hemrow_plan: 1\nname: !!str 5\n", []string{"p.yaml:2:7: tags are not read in a plan | take the tag away, or put text that begins with ! in quotes"}},
		{"directive", "%YAML 1.2\n---\nhemrow_plan: 1\n", []string{
			"p.yaml:1:1: directives are not read in a plan | take the line away, or put text that begins with % in quotes",
			"p.yaml:2:1: a second document begins here | keep one plan in a file",
		}},
		{"question mark", "? hemrow_plan\n: 1\n", []string{"p.yaml:1:1: keys with a question mark are not read in a plan | write key: value"}},
		{"block of text", "hemrow_plan: 1\nname: |\n  Kestrel\n  Rise\n", []string{"p.yaml:2:7: blocks of text are not read in a plan | write the text behind its key, on one line"}},
		{"second document", "hemrow_plan: 1\n---\nhemrow_plan: 1\n", []string{"p.yaml:2:1: a second document begins here | keep one plan in a file"}},
		{"nested brackets", "hemrow_plan: 1\nname: " + strings.Repeat("[", 50), []string{"p.yaml:2:22: lists or maps lie too deep in each other | a plan has sections and keys, no more"}},
		{"nested keys", nested(30), []string{"p.yaml:18:18: lists or maps lie too deep in each other | a plan has sections and keys, no more"}},
		{"list in a list", "hemrow_plan: 1\nplants:\n  - - plant: hazel\n", []string{"p.yaml:3:5: a list lies inside a list | begin every entry on its own line"}},

		// Keys.
		{"unknown key, much like one", "hemrow_plan: 1\nrows:\n  spaceing: 5 m\n", []string{"p.yaml:3:3: rows.spaceing: is no key of a plan | did you mean spacing?"}},
		{"unknown key, unlike any", "hemrow_plan: 1\nrows:\n  colour: red\n", []string{"p.yaml:3:3: rows.colour: is no key of a plan | " + rowKeysHere}},
		{"unknown section", "hemrow_plan: 1\nrow:\n  spacing: 5 m\n", []string{"p.yaml:2:1: row: is no key of a plan | did you mean rows?"}},
		{"unknown section, unlike any", "hemrow_plan: 1\nirrigation:\n  x: 5 m\n", []string{"p.yaml:2:1: irrigation: is no key of a plan | keys here: hemrow_plan, name, units, field, terrain, rows, contour, cover, trench, seam, chips, tape or plants"}},
		{"key of another section", "hemrow_plan: 1\nrows:\n  film_width: 1.2 m\n", []string{"p.yaml:3:3: rows.film_width: is no key of a plan | film_width belongs in section cover"}},
		{"key without its section", "hemrow_plan: 1\nspacing: 5 m\n", []string{"p.yaml:2:1: spacing: is no key of a plan | spacing belongs in section rows"}},
		{"top key in a section", "hemrow_plan: 1\nfield:\n  name: x\n", []string{"p.yaml:3:3: field.name: is no key of a plan | name belongs in no section, at the start of a line"}},
		{"misspelt key of another section", "hemrow_plan: 1\nrows:\n  film_widht: 1.2 m\n", []string{"p.yaml:3:3: rows.film_widht: is no key of a plan | did you mean cover.film_width?"}},
		{"key twice", "hemrow_plan: 1\nrows:\n  spacing: 5 m\n  spacing: 6 m\n", []string{"p.yaml:4:3: rows.spacing: is there twice, first on line 3 | keep one of them"}},
		{"section twice", "hemrow_plan: 1\nrows:\n  spacing: 5 m\nrows:\n  headland: 6 m\n", []string{"p.yaml:4:1: rows: is there twice, first on line 2 | keep one of them"}},
		{"section with a value", "hemrow_plan: 1\nrows: 5 m\n", []string{"p.yaml:2:7: rows: is a section | put its keys below it, set in by two spaces"}},
		{"key with keys", "hemrow_plan: 1\nrows:\n  spacing:\n    least: 5 m\n", []string{"p.yaml:4:5: rows.spacing: has keys below it | write one value"}},
		{"key with a list", "hemrow_plan: 1\nrows:\n  spacing: [5 m]\n", []string{"p.yaml:3:12: rows.spacing: is a list | write one value"}},
		{"key without a value", "hemrow_plan: 1\nrows:\n  spacing:\n", []string{"p.yaml:3:3: rows.spacing: has no value | write one, or take the key away for its default"}},

		// Values.
		{"no unit", "hemrow_plan: 1\nrows:\n  spacing: 5\n", []string{`p.yaml:3:12: rows.spacing: "5" has no unit | write 5 m or 16 ft`}},
		{"column behind other letters", "hemrow_plan: 1\nrows: {headland: 6 m, spacing: 5}\n", []string{`p.yaml:2:32: rows.spacing: "5" has no unit | write 5 m or 16 ft`}},
		{"wrong measure", "hemrow_plan: 1\nrows:\n  spacing: 5 kg\n", []string{`p.yaml:3:12: rows.spacing: "5 kg" is a mass, not a length | ` + lengths}},
		{"decimal comma", "hemrow_plan: 1\nrows:\n  spacing: 4,5 m\n", []string{`p.yaml:3:12: rows.spacing: "4,5 m" has a comma | write a decimal point, and nothing between thousands: 4.5 m`}},
		{"not a number", "hemrow_plan: 1\nrows:\n  spacing: .nan\n  headland: .inf\nseam:\n  safety: .NaN\n", []string{
			`p.yaml:3:12: rows.spacing: ".nan" is no number to reckon with | write a number and a unit, such as 5 m or 16 ft`,
			`p.yaml:4:13: rows.headland: ".inf" is no number to reckon with | write a number and a unit, such as 5 m or 16 ft`,
			`p.yaml:6:11: seam.safety: ".NaN" is no number to reckon with | write a plain number, such as 1.5`,
		}},
		{"ratio with a unit", "hemrow_plan: 1\nseam:\n  safety: 1.5 m\n", []string{`p.yaml:3:11: seam.safety: "1.5 m" is not a plain number | write a number without a unit, such as 1.5`}},
		{"ratio with a comma", "hemrow_plan: 1\nseam:\n  safety: 1,5\n", []string{`p.yaml:3:11: seam.safety: "1,5" has a comma | write a decimal point, and nothing between thousands: 1.5`}},
		{"ratio too long", "hemrow_plan: 1\nseam:\n  safety: " + strings.Repeat("9", 401) + "\n", []string{`p.yaml:3:11: seam.safety: has too many digits | write at most 15 of them`}},
		{"count with a part", "hemrow_plan: 1\ntape:\n  tape_lines: 1.5\n", []string{`p.yaml:3:15: tape.tape_lines: "1.5" is not a whole number | write a count such as 20`}},
		{"count in base 16", "hemrow_plan: 1\ntape:\n  tape_lines: 0x2\n", []string{`p.yaml:3:15: tape.tape_lines: "0x2" is not a whole number | write a count such as 20`}},
		{"count too large", "hemrow_plan: 1\ntape:\n  tape_lines: 2000000000\n", []string{`p.yaml:3:15: tape.tape_lines: "2000000000" is too large`}},
		{"switch in other words", "hemrow_plan: 1\nfield:\n  strict: on\n", []string{`p.yaml:3:11: field.strict: is "on" | write yes or no`}},
		{"unknown word", "hemrow_plan: 1\ncover:\n  covering: straw\n", []string{`p.yaml:3:13: cover.covering: is "straw" | write one sheet, two sheets, chips or none`}},
		{"word nearly right", "hemrow_plan: 1\ncover:\n  covering: two sheet\nunits: US\n", []string{
			`p.yaml:3:13: cover.covering: is "two sheet" | did you mean two sheets? write one sheet, two sheets, chips or none`,
			`p.yaml:4:8: units: is "US" | did you mean us? write metric or us`,
		}},
		{"side in small letters", "hemrow_plan: 1\nrows:\n  start_side: nw\n", []string{`p.yaml:3:15: rows.start_side: is "nw" | did you mean NW? write "", N, NE, E, SE, S, SW, W or NW`}},
		{"heading without a unit", "hemrow_plan: 1\nrows:\n  heading: 37\n", []string{`p.yaml:3:12: rows.heading: "37" has no unit | write 37 deg`}},
		{"heading in other words", "hemrow_plan: 1\nrows:\n  heading: along the road\n", []string{`p.yaml:3:12: rows.heading: is "along the road" | write search, along longest edge, along edge 3, or a bearing such as 37 deg`}},
		{"heading nearly right", "hemrow_plan: 1\nrows:\n  heading: along longest edg\n", []string{`p.yaml:3:12: rows.heading: is "along longest edg" | did you mean along longest edge? write search, along longest edge, along edge 3, or a bearing such as 37 deg`}},
		{"heading below north", "hemrow_plan: 1\nrows:\n  heading: -10 deg\n", []string{`p.yaml:3:12: rows.heading: "-10 deg" is not from 0 to 360 deg | bearings count clockwise from north`}},
		{"edge zero", "hemrow_plan: 1\nrows:\n  heading: along edge 0\n", []string{`p.yaml:3:12: rows.heading: edges count from 1`}},
		{"edge beyond all", "hemrow_plan: 1\nrows:\n  heading: along edge 99999999999\n", []string{`p.yaml:3:12: rows.heading: "99999999999" is too large`}},
		{"first row in other words", "hemrow_plan: 1\nrows:\n  first_row: middle\n", []string{`p.yaml:3:14: rows.first_row: is "middle" | write best, or a length such as 5 m or 16 ft`}},
		{"first row without a unit", "hemrow_plan: 1\nrows:\n  first_row: 3.5\n", []string{`p.yaml:3:14: rows.first_row: "3.5" has no unit | write 3.5 m or 11 ft`}},
		{"longest run in other words", "hemrow_plan: 1\nrows:\n  longest_run: unlimited\n", []string{`p.yaml:3:16: rows.longest_run: is "unlimited" | write none, or a length such as 5 m or 16 ft`}},
		{"obstacles as keys", "hemrow_plan: 1\nfield:\n  obstacles: [[a]]\n", []string{"p.yaml:3:14: field.obstacles: is a list of lists or keys | write one value for each entry"}},
		{"obstacle without a name", "hemrow_plan: 1\nfield:\n  obstacles: [a.geojson, \"\"]\n", []string{"p.yaml:3:14: field.obstacles: has an empty file name | write [] for no file"}},
		{"line break in a name", "hemrow_plan: 1\nname: \"a\\nb\"\n", []string{`p.yaml:2:7: name: "a\nb" has a line break or a control character | write it on one line`}},
		{"name too long", "hemrow_plan: 1\nname: " + strings.Repeat("x", 1001) + "\n", []string{`p.yaml:2:7: name: is too long | write 1000 characters at most`}},

		// Plants.
		{"plants in words", "hemrow_plan: 1\nplants: hazel\n", []string{"p.yaml:2:9: plants: is a list | begin every entry with a dash: - plant: hazel"}},
		{"a plant in one word", "hemrow_plan: 1\nplants:\n  - hazel\n", []string{"p.yaml:3:5: plants[1]: is no plant with keys | write - plant: hazel, and pitch: 4 m below it"}},
		{"plants lacking keys", "hemrow_plan: 1\nplants:\n  - plant: hazel\n    pitch: 4 m\n  - start: 1 m\n", []string{
			"p.yaml:5:5: plants[2].plant: is missing | write for example plant: hazel",
			"p.yaml:5:5: plants[2].pitch: is missing | write for example pitch: 4 m",
		}},
		{"plant with an unknown key", "hemrow_plan: 1\nplants:\n  - plant: hazel\n    pitch: 4 m\n    distance: 4 m\n", []string{"p.yaml:5:5: plants[1].distance: is no key of a plan | keys here: plant, pitch, start or rows"}},
		{"plant with a key twice", "hemrow_plan: 1\nplants:\n  - plant: hazel\n    pitch: 4 m\n    pitch: 4 m\n", []string{"p.yaml:5:5: plants[1].pitch: is there twice, first on line 4 | keep one of them"}},
		{"plant rows in other words", "hemrow_plan: 1\nplants:\n  - plant: hazel\n    pitch: 4 m\n    rows: odd\n", []string{`p.yaml:5:11: plants[1].rows: is "odd" | write all, or 2 of 3 for the second of every three rows`}},
		{"plant rows beyond", "hemrow_plan: 1\nplants:\n  - plant: hazel\n    pitch: 4 m\n    rows: 4 of 3\n", []string{`p.yaml:5:11: plants[1].rows: "4 of 3" chooses no row | write 1 of 3 up to 3 of 3`}},
		{"plant too near", "hemrow_plan: 1\nplants:\n  - plant: hazel\n    pitch: 4 m\n  - plant: plum\n    pitch: 1 mm\n", []string{"p.yaml:6:12: plants[2].pitch: must be from 0.05 to 1000 m, is 0.001"}},
		{"plant without a name", "hemrow_plan: 1\nplants:\n  - plant: \"\"\n    pitch: 4 m\n", []string{"p.yaml:3:12: plants[1].plant: needs a name"}},

		// What the specs refuse, at the place of the key.
		{"spacing too small", "hemrow_plan: 1\nrows:\n  spacing: 5 mm\n", []string{"p.yaml:3:12: rows.spacing: must be from 0.2 to 200 m, is 0.005"}},
		{"film thicker than can be", "hemrow_plan: 1\ncover:\n  film_thickness: 80 mm\n", []string{"p.yaml:3:19: cover.film_thickness: must be from 5 to 5000 um, is 80000"}},
		{"film used up by tucks", "hemrow_plan: 1\ncover:\n  film_width: 0.3 m\n", []string{"p.yaml:3:15: cover.film_width: a sheet of 0.3 m is used up by two tucks of 0.15 m"}},
		{"fault of a default", "hemrow_plan: 1\ncover:\n  edge_tuck: 0.8 m\n", []string{"p.yaml:2:1: cover.film_width: a sheet of 1.2 m is used up by two tucks of 0.8 m"}},
		{"longest run below the shortest row", "hemrow_plan: 1\nrows:\n  longest_run: 8 m\n", []string{"p.yaml:3:16: rows.longest_run: is shorter than shortest_row"}},

		// All at once, in order of place, each key with one fault only.
		{"all at once", "hemrow_plan: 1\ntape:\n  tape_lines: two\nrows:\n  spacing: 5\n  headland: 900 m\n  heding: search\n", []string{
			`p.yaml:3:15: tape.tape_lines: "two" is not a whole number | write a count such as 20`,
			`p.yaml:5:12: rows.spacing: "5" has no unit | write 5 m or 16 ft`,
			"p.yaml:6:13: rows.headland: must be from 0 to 200 m, is 900",
			"p.yaml:7:3: rows.heding: is no key of a plan | did you mean heading?",
		}},
	} {
		t.Run(c.name, func(t *testing.T) {
			p, err := Parse("p.yaml", []byte(c.text))
			require.Error(t, err)
			assert.Equal(t, c.want, told(err))
			assert.Equal(t, Plan{}, p)
		})
	}
}

// nested is a plan with keys set in deeper and deeper.
func nested(levels int) string {
	s := "hemrow_plan: 1\n"
	for i := range levels {
		s += strings.Repeat(" ", i) + "a:\n"
	}
	return s
}

// CRLF line ends, a byte-order mark and letters of several bytes do not move
// the place of a fault.
func TestFaultPlacesCountCharacters(t *testing.T) {
	_, err := Parse("p.yaml", []byte("\xef\xbb\xbfhemrow_plan: 1\r\nname: Häselhügel # Höhe\r\nrows: {start_side: ü, spacing: 5}\r\n"))
	require.Error(t, err)
	got := told(err)
	require.Len(t, got, 2)
	assert.Contains(t, got[0], "p.yaml:3:20: rows.start_side")
	assert.Contains(t, got[1], "p.yaml:3:32: rows.spacing")
}

func TestFaultsAreNotWithoutEnd(t *testing.T) {
	var b strings.Builder
	b.WriteString("hemrow_plan: 1\nrows:\n")
	for i := range 300 {
		fmt.Fprintf(&b, "  x%d: 1\n", i)
	}
	_, err := Parse("p.yaml", []byte(b.String()))
	got := leaves(err)
	require.Len(t, got, mostFaults+1)
	assert.Equal(t, "p.yaml: 200 more faults are not listed", got[mostFaults].Error())
}
