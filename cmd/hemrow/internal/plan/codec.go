package plan

import (
	"fmt"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"
)

// value is a value as it stands in a plan file or behind a flag.
type value struct {
	text string
	list []string
	many bool // a list, even an empty one
}

// codec carries the value of one key between its text and the plan.
type codec interface {
	// read sets the value, or leaves the plan as it is and says why.
	read(t target, v value) *problem
	// write is the value as a plan file would have it, in SI, without quotes.
	// What it writes, read takes back to the same value.
	write(t target) string
}

// scalar refuses a list where one value belongs.
func scalar(v value) (string, *problem) {
	if v.many {
		return "", &problem{"is a list", "write one value"}
	}
	return strings.TrimSpace(v.text), nil
}

// quantity is a number with a unit.
type quantity struct {
	kind Kind
	at   func(target) *float64
}

func (c quantity) read(t target, v value) *problem {
	s, p := scalar(v)
	if p != nil {
		return p
	}
	f, p := parseQuantity(s, c.kind)
	if p == nil {
		*c.at(t) = f
	}
	return p
}

func (c quantity) write(t target) string { return quantityText(*c.at(t), c.kind) }

// quantityText writes a value in the kind's own unit.
func quantityText(v float64, kind Kind) string { return plain(v) + " " + dimensionOf(kind).own }

// ratioCodec is a number without a unit.
type ratioCodec struct{ at func(*Plan) *float64 }

func ratio(at func(*Plan) *float64) codec { return ratioCodec{at} }

func (c ratioCodec) read(t target, v value) *problem {
	s, p := scalar(v)
	if p != nil {
		return p
	}
	f, p := parseNumber(s)
	if p == nil {
		*c.at(t.plan) = f
	}
	return p
}

func (c ratioCodec) write(t target) string { return plain(*c.at(t.plan)) }

// countCodec is a whole number of things.
type countCodec struct{ at func(*Plan) *int }

func count(at func(*Plan) *int) codec { return countCodec{at} }

// mostCount bounds a count; no orchard has a billion of anything.
const mostCount = 1_000_000_000

func parseCount(s string) (int, *problem) {
	n, err := strconv.ParseUint(s, 10, 64)
	if err != nil {
		return 0, &problem{show(s) + " is not a whole number", "write a count such as 20"}
	}
	if n > mostCount {
		return 0, &problem{show(s) + " is too large", ""}
	}
	return int(n), nil
}

func (c countCodec) read(t target, v value) *problem {
	s, p := scalar(v)
	if p != nil {
		return p
	}
	n, p := parseCount(s)
	if p == nil {
		*c.at(t.plan) = n
	}
	return p
}

func (c countCodec) write(t target) string { return strconv.Itoa(*c.at(t.plan)) }

// yesNoCodec is a switch.
type yesNoCodec struct{ at func(*Plan) *bool }

func yesNo(at func(*Plan) *bool) codec { return yesNoCodec{at} }

func (c yesNoCodec) read(t target, v value) *problem {
	s, p := scalar(v)
	if p != nil {
		return p
	}
	switch s {
	case "yes", "true":
		*c.at(t.plan) = true
	case "no", "false":
		*c.at(t.plan) = false
	default:
		return &problem{fmt.Sprintf("is %s", show(s)), "write yes or no"}
	}
	return nil
}

func (c yesNoCodec) write(t target) string {
	if *c.at(t.plan) {
		return "yes"
	}
	return "no"
}

// textCodec is words on one line.
type textCodec struct{ at func(target) *string }

func text(at func(*Plan) *string) codec {
	return textCodec{func(t target) *string { return at(t.plan) }}
}

func textAt(at func(target) *string) codec { return textCodec{at} }

// longestText bounds names and paths, in characters.
const longestText = 1000

func checkText(s string) *problem {
	if !utf8.ValidString(s) {
		return &problem{"is no UTF-8 text", "save the file as UTF-8"}
	}
	if utf8.RuneCountInString(s) > longestText {
		return &problem{"is too long", fmt.Sprintf("write %d characters at most", longestText)}
	}
	for _, r := range s {
		if unicode.IsControl(r) || r == '\u2028' || r == '\u2029' || r == '\ufeff' {
			return &problem{fmt.Sprintf("%s has a line break or a control character", show(s)), "write it on one line"}
		}
	}
	return nil
}

func (c textCodec) read(t target, v value) *problem {
	s, p := scalar(v)
	if p == nil {
		p = checkText(s)
	}
	if p == nil {
		*c.at(t) = s
	}
	return p
}

func (c textCodec) write(t target) string { return *c.at(t) }

// pathsCodec is a list of files; one file may stand alone.
type pathsCodec struct{ at func(*Plan) *[]string }

func (c pathsCodec) read(t target, v value) *problem {
	list := v.list
	if !v.many && v.text != "" {
		list = []string{v.text}
	}
	var out []string
	for _, s := range list {
		s = strings.TrimSpace(s)
		if s == "" {
			return &problem{"has an empty file name", "write [] for no file"}
		}
		if p := checkText(s); p != nil {
			return p
		}
		out = append(out, s)
	}
	*c.at(t.plan) = out
	return nil
}

func (c pathsCodec) write(t target) string {
	var quoted []string
	for _, s := range *c.at(t.plan) {
		quoted = append(quoted, quoteText(s))
	}
	return "[" + strings.Join(quoted, ", ") + "]"
}
