package geojson

import (
	"bytes"
	"encoding/json"
	"fmt"
	"unicode/utf8"
)

// fault is a problem at a place of a byte slice.
type fault struct {
	at      int
	problem string
	hint    string
	syntax  bool // the JSON is wrong, so the column helps
	ended   bool // the bytes end too early

	part, hole, vertex int
}

func syntaxAt(b []byte, i int) *fault {
	if i >= len(b) {
		return &fault{at: len(b), problem: "ends too early", syntax: true, ended: true}
	}
	return &fault{at: i, problem: unexpected(b, i), syntax: true}
}

// unexpected says in words what stands at b[i] and should not.
func unexpected(b []byte, i int) string {
	c := b[i]
	switch {
	case c == '/' || c == '#':
		return "JSON has no comments"
	case c == '\'':
		return "text must stand in double quotes"
	case c == ',':
		return "there is a comma too many"
	case c == ':' || c == '"' || c == '{' || c == '[' || c == '}' || c == ']':
		return fmt.Sprintf("%c is not expected here", c)
	}
	w := token(b, i)
	switch w {
	case "NaN", "nan", "-NaN", "Infinity", "-Infinity", "inf", "-inf", "Inf", "-Inf":
		return w + " is no number in JSON"
	case "":
		r, _ := utf8.DecodeRune(b[i:])
		return fmt.Sprintf("character %q is not expected here", r)
	}
	return fmt.Sprintf("%q is not expected here", w)
}

// token is the word at b[i], cut at 40 bytes, for a message.
func token(b []byte, i int) string {
	const most = 40
	j := i
	for j < len(b) && j-i < most {
		c := b[j]
		if blank(c) || c == ',' || c == ']' || c == '}' || c == ':' || c == '[' || c == '{' || c == '"' || c < ' ' {
			break
		}
		j++
	}
	w := string(bytes.ToValidUTF8(b[i:j], []byte("?")))
	if j-i == most {
		w += "..."
	}
	return w
}

func skipBlank(b []byte, i int) int {
	for i < len(b) && blank(b[i]) {
		i++
	}
	return i
}

// skipText reads the text that opens at b[i] and returns the place behind its
// closing quote; plain is false when it has escapes.
func skipText(b []byte, i int) (end int, plain bool, f *fault) {
	plain = true
	for j := i + 1; j < len(b); j++ {
		switch c := b[j]; {
		case c == '"':
			return j + 1, plain, nil
		case c == '\\':
			plain = false
			j++
		case c < ' ':
			return j, false, &fault{at: j, problem: fmt.Sprintf("control character 0x%02X inside text", c), syntax: true}
		}
	}
	return 0, false, syntaxAt(b, len(b))
}

// unquote is the text of b, quotes included.
func unquote(b []byte, plain bool) (string, bool) {
	if plain {
		return string(b[1 : len(b)-1]), true
	}
	var s string
	if json.Unmarshal(b, &s) != nil {
		return "", false
	}
	return s, true
}

// readText is skipText and unquote.
func readText(b []byte, i int) (s string, end int, f *fault) {
	end, plain, f := skipText(b, i)
	if f != nil {
		return "", 0, f
	}
	s, ok := unquote(b[i:end], plain)
	if !ok {
		return "", 0, &fault{at: i, problem: "text with a wrong escape", syntax: true}
	}
	return s, end, nil
}

// skipNested finds the end of the value that opens at b[i], looking at
// brackets only when it is an object or an array: for values that are read
// strictly afterwards.
func skipNested(b []byte, i int) (end int, f *fault) {
	if i >= len(b) || b[i] != '{' && b[i] != '[' {
		return skipValue(b, i, 0)
	}
	var n nest
	used, done, problem := n.scan(b[i:])
	if problem != "" {
		return 0, &fault{at: i + used, problem: problem, syntax: true}
	}
	if !done {
		return 0, syntaxAt(b, len(b))
	}
	return i + used, nil
}

// skipValue reads one value strictly and returns the place behind it.
func skipValue(b []byte, i, depth int) (end int, f *fault) {
	if i >= len(b) {
		return 0, syntaxAt(b, i)
	}
	switch c := b[i]; {
	case c == '"':
		_, end, f := readText(b, i)
		return end, f
	case c == '{':
		return skipObject(b, i, depth+1)
	case c == '[':
		return skipArray(b, i, depth+1)
	case c == '-' || c >= '0' && c <= '9':
		return skipNumber(b, i)
	}
	return skipWord(b, i)
}

// skipWord reads true, false or null.
func skipWord(b []byte, i int) (end int, f *fault) {
	for _, w := range [...]string{"true", "false", "null"} {
		if bytes.HasPrefix(b[i:], []byte(w)) && token(b, i) == w {
			return i + len(w), nil
		}
	}
	return 0, syntaxAt(b, i)
}

func skipArray(b []byte, i, depth int) (end int, f *fault) {
	if depth > maxDepth {
		return 0, &fault{at: i, problem: fmt.Sprintf("brackets are nested more than %d deep", maxDepth), syntax: true}
	}
	i = skipBlank(b, i+1)
	if i < len(b) && b[i] == ']' {
		return i + 1, nil
	}
	for {
		if i, f = skipValue(b, i, depth); f != nil {
			return 0, f
		}
		i = skipBlank(b, i)
		more, f := separator(b, i, ']')
		if f != nil {
			return 0, f
		}
		if !more {
			return i + 1, nil
		}
		i = skipBlank(b, i+1)
	}
}

func skipObject(b []byte, i, depth int) (end int, f *fault) {
	if depth > maxDepth {
		return 0, &fault{at: i, problem: fmt.Sprintf("brackets are nested more than %d deep", maxDepth), syntax: true}
	}
	m := members{b: b, i: i + 1}
	for m.next() {
		if m.i, m.f = skipValue(b, m.value, depth); m.f != nil {
			break
		}
	}
	return m.i, m.f
}

// separator looks at b[i] after an element: more is true at a comma that
// something follows, false at the closing bracket.
func separator(b []byte, i int, closing byte) (more bool, f *fault) {
	switch {
	case i >= len(b):
		return false, syntaxAt(b, i)
	case b[i] == closing:
		return false, nil
	case b[i] != ',':
		return false, syntaxAt(b, i)
	}
	if j := skipBlank(b, i+1); j < len(b) && (b[j] == ']' || b[j] == '}') {
		return false, &fault{at: i, problem: fmt.Sprintf("there is a comma before %c", b[j]), syntax: true}
	}
	return true, nil
}

// members walks over the members of an object. After each next the caller
// reads the value at value and sets i behind it. At the end, i is behind the
// closing bracket.
type members struct {
	b     []byte
	i     int // behind the opening bracket, then behind a value
	begun bool
	value int
	keyAt int
	plain bool
	keyTo int
	f     *fault
}

func (m *members) next() bool {
	if m.f != nil {
		return false
	}
	i := skipBlank(m.b, m.i)
	if m.begun || i < len(m.b) && m.b[i] == '}' {
		more, f := separator(m.b, i, '}')
		if !more {
			m.i, m.f = i+1, f
			return false
		}
		i = skipBlank(m.b, i+1)
	}
	m.begun = true
	if i >= len(m.b) || m.b[i] != '"' {
		m.f = syntaxAt(m.b, i)
		return false
	}
	m.keyAt = i
	if m.keyTo, m.plain, m.f = skipText(m.b, i); m.f != nil {
		return false
	}
	i = skipBlank(m.b, m.keyTo)
	if i >= len(m.b) || m.b[i] != ':' {
		m.f = syntaxAt(m.b, i)
		return false
	}
	m.value = skipBlank(m.b, i+1)
	return true
}

// key is the member's name.
func (m *members) key() string {
	s, ok := unquote(m.b[m.keyAt:m.keyTo], m.plain)
	if !ok {
		m.f = &fault{at: m.keyAt, problem: "member name with a wrong escape", syntax: true}
	}
	return s
}
