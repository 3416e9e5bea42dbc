package plan

import (
	"bytes"
	"encoding/json"
	"regexp"
	"strings"
)

// Schema is the JSON Schema (draft 2020-12) of plan files, for editors that
// complete and check YAML. It is made from [Keys]. It knows the units; the
// bounds of the values are checked by [Parse] alone.
func Schema() []byte {
	keys := Keys()
	top := members{}
	for _, k := range keys {
		if k.Section == "" {
			top = append(top, member{k.Name, k.schema()})
		}
	}
	for _, s := range sections() {
		inner := members{}
		for _, k := range keys {
			if k.Section == s[0] {
				inner = append(inner, member{k.Name, k.schema()})
			}
		}
		top = append(top, member{s[0], sectionSchema(s, inner)})
	}
	doc := members{
		{"$schema", "https://json-schema.org/draft/2020-12/schema"},
		{"$id", "urn:hemrow:plan:1"},
		{"title", "Plan file of hemrow"},
		{"type", "object"},
		{"required", []string{"hemrow_plan"}},
		{"additionalProperties", false},
		{"properties", top},
	}
	var out bytes.Buffer
	enc := json.NewEncoder(&out)
	enc.SetEscapeHTML(false)
	enc.SetIndent("", "  ")
	if err := enc.Encode(doc); err != nil { // never: words, switches and lists of them
		return nil
	}
	return out.Bytes()
}

func sectionSchema(s [2]string, inner members) members {
	object := members{
		{"type", []string{"object", "null"}},
		{"description", s[1] + "."},
		{"additionalProperties", false},
		{"properties", inner},
	}
	if s[0] != "plants" {
		return object
	}
	object[0].value = "object"
	object[1] = member{"required", []string{"plant", "pitch"}}
	return members{
		{"type", []string{"array", "null"}},
		{"description", s[1] + "."},
		{"items", object},
	}
}

// schema describes the value of one key.
func (k Key) schema() members {
	m := members{{"description", k.Help}}
	pattern := func(p string) {
		m = append(m, member{"type", "string"}, member{"pattern", "^ *(?:" + p + ") *$"})
	}
	switch k.Kind {
	case KindVersion:
		return append(m, member{"const", Version})
	case KindText, KindPath:
		m = append(m, member{"type", []string{"string", "number", "boolean"}})
	case KindPaths:
		m = append(m, member{"type", []string{"array", "string", "null"}}, member{"items", members{{"type", "string"}}})
	case KindChoice:
		m = append(m, member{"enum", k.Choices})
	case KindBool:
		return append(m, member{"enum", []any{true, false, "yes", "no"}}, member{"default", k.Default})
	case KindCount:
		m = append(m, member{"type", "integer"}, member{"minimum", 0})
		return append(m, member{"default", json.Number(k.Default)})
	case KindRatio:
		m = append(m, member{"type", "number"})
		return append(m, member{"default", json.Number(k.Default)})
	case KindHeading:
		pattern("search|along longest edge|along edge [0-9]+|" + quantityPattern(KindAngle))
	case KindFirstRow, KindLimit:
		pattern(strings.Join(k.Choices, "|") + "|" + quantityPattern(KindLength))
	case KindRows:
		pattern("all|[0-9]+ +of +[0-9]+")
	default:
		pattern(quantityPattern(k.Kind))
	}
	if k.Kind == KindPaths {
		return append(m, member{"default", []string{}})
	}
	if k.required() {
		return m
	}
	return append(m, member{"default", k.Default})
}

// required tells whether an entry must have the key.
func (k Key) required() bool {
	return k.Section == "plants" && (k.Name == "plant" || k.Name == "pitch")
}

// quantityPattern is what parseQuantity reads, as a regular expression that
// both JSON Schema and Go know.
func quantityPattern(kind Kind) string {
	dim := dimensionOf(kind)
	var names []string
	for _, n := range dim.all() {
		n = regexp.QuoteMeta(n)
		if strings.HasSuffix(n, "3") {
			n = strings.TrimSuffix(n, "3") + `(?:3|³|\^3)`
		}
		n = strings.NewReplacer("um", "[uµμ]m", "'", "['′’]", `"`, `["″”]`).Replace(n)
		names = append(names, n)
	}
	num := strings.Replace(number, "-?", "[-−]?", 1)
	p := num + " *(?:" + strings.Join(names, "|") + ")"
	if dim.word == "length" {
		p += `|[-−]?[0-9]+ *(?:ft|['′’]) *(?:0*[0-9]|0*1[01])(?:\.[0-9]+)? *(?:in|["″”])`
		p += `|[-−]?[0-9]+ *(?:ft|['′’]) *\.[0-9]+ *(?:in|["″”])`
	}
	return p
}

// members is a JSON object that keeps its order.
type members []member

type member struct {
	name  string
	value any
}

// MarshalJSON writes the members in order.
func (m members) MarshalJSON() ([]byte, error) {
	var b bytes.Buffer
	b.WriteByte('{')
	for i, e := range m {
		if i > 0 {
			b.WriteByte(',')
		}
		name, err := json.Marshal(e.name)
		if err != nil {
			return nil, err
		}
		b.Write(name)
		b.WriteByte(':')
		enc := json.NewEncoder(&b)
		enc.SetEscapeHTML(false)
		if err := enc.Encode(e.value); err != nil {
			return nil, err
		}
	}
	b.WriteByte('}')
	return b.Bytes(), nil
}
