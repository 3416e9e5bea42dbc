package geojson

import (
	"encoding/json"
	"fmt"
	"unicode/utf8"

	"hemrow/geo/format"
	"hemrow/geo/format/encoded"
)

// properties reads the properties at b[at], an object or null. Keys and plain
// text are slices of one copy of the whole, which costs one allocation.
func (d *decoder) properties(at int) *fault {
	if d.b[at] != '{' {
		if token(d.b, at) == "null" {
			return nil
		}
		return &fault{at: at, problem: fmt.Sprintf("the properties are %s, not an object", kindOf(d.b[at]))}
	}
	end, f := skipNested(d.b, at)
	if f != nil {
		return f
	}
	p := propertyReader{b: d.b[:end], at: at, text: string(d.b[at:end])}
	d.f.Properties = make(map[string]any, 8)
	var naming format.Naming
	m := members{b: p.b, i: at + 1}
	for m.next() {
		key, f := p.string(m.keyAt, m.keyTo, m.plain)
		if f != nil {
			return f
		}
		v, end, f := p.value(m.value, 1)
		if f != nil {
			return f
		}
		m.i = end
		d.f.Properties[key] = v
		naming.Offer(key, v)
		d.f.Name = naming.Name
	}
	d.tally[noteRecoded] = p.recoded
	return m.f
}

// propertyReader reads values of properties: text, json.Number, bool, nil,
// []any and map[string]any, as encoding/json would with UseNumber.
type propertyReader struct {
	b       []byte
	at      int    // where text begins in b
	text    string // b[at:]
	recoded int    // texts that were no UTF-8
}

// string is the text that stands at b[i:end], quotes included.
func (p *propertyReader) string(i, end int, plain bool) (string, *fault) {
	if plain {
		s := p.text[i+1-p.at : end-1-p.at]
		if !utf8.ValidString(s) {
			p.recoded++
			s, _ = encoded.Text([]byte(s))
		}
		return s, nil
	}
	b := p.b[i:end]
	if !utf8.Valid(b) {
		p.recoded++
		t, _ := encoded.Text(b)
		b = []byte(t)
	}
	s, ok := unquote(b, false)
	if !ok {
		return "", &fault{at: i, problem: "text with a wrong escape", syntax: true}
	}
	return s, nil
}

func (p *propertyReader) value(i, depth int) (v any, end int, f *fault) {
	if i >= len(p.b) {
		return nil, 0, syntaxAt(p.b, i)
	}
	switch c := p.b[i]; {
	case c == '"':
		end, plain, f := skipText(p.b, i)
		if f != nil {
			return nil, 0, f
		}
		s, f := p.string(i, end, plain)
		return s, end, f
	case c == '{':
		return p.object(i, depth+1)
	case c == '[':
		return p.list(i, depth+1)
	case c == '-' || c-'0' <= 9:
		end, f := skipNumber(p.b, i)
		if f != nil {
			return nil, 0, f
		}
		return json.Number(p.text[i-p.at : end-p.at]), end, nil
	}
	if end, f = skipWord(p.b, i); f != nil {
		return nil, 0, f
	}
	if p.b[i] == 'n' {
		return nil, end, nil
	}
	return p.b[i] == 't', end, nil
}

func (p *propertyReader) object(i, depth int) (v any, end int, f *fault) {
	out := map[string]any{}
	m := members{b: p.b, i: i + 1}
	for m.next() {
		key, f := p.string(m.keyAt, m.keyTo, m.plain)
		if f != nil {
			return nil, 0, f
		}
		v, end, f := p.value(m.value, depth)
		if f != nil {
			return nil, 0, f
		}
		m.i = end
		out[key] = v
	}
	return out, m.i, m.f
}

func (p *propertyReader) list(i, depth int) (v any, end int, f *fault) {
	out := []any{}
	i = skipBlank(p.b, i+1)
	if i < len(p.b) && p.b[i] == ']' {
		return out, i + 1, nil
	}
	for {
		v, end, f := p.value(i, depth)
		if f != nil {
			return nil, 0, f
		}
		out = append(out, v)
		i = skipBlank(p.b, end)
		more, f := separator(p.b, i, ']')
		if f != nil {
			return nil, 0, f
		}
		if !more {
			return out, i + 1, nil
		}
		i = skipBlank(p.b, i+1)
	}
}
