package plan

import (
	"bytes"
	"errors"
	"fmt"
	"strings"
	"unicode/utf8"

	yaml "github.com/goccy/go-yaml"
	"github.com/goccy/go-yaml/ast"
	"github.com/goccy/go-yaml/lexer"
	"github.com/goccy/go-yaml/parser"
	"github.com/goccy/go-yaml/token"
)

// shape is what a node of the file is.
type shape int

const (
	shapeEmpty shape = iota // nothing, or null
	shapeScalar
	shapeMap
	shapeList
)

// node is a value of the file with its place. Scalars stay text: what they
// mean is up to the key.
type node struct {
	line, column int
	shape        shape
	text         string
	pairs        []pair
	items        []node
}

type pair struct {
	key          string
	line, column int
	value        node
}

// mostBytes is the largest plan file read; a thousand plants take a tenth.
const mostBytes = 1 << 20

// mostNested bounds how deep lists and maps may lie in each other; a plan
// needs three.
const mostNested = 16

// readTree reads the part of YAML that a plan needs: one document of maps,
// lists and single-line values. Anchors, aliases, tags and the like are
// refused by name.
func readTree(name string, data []byte) (root node, faults []*Fault) {
	fault := func(line, column int, what, hint string) []*Fault {
		return []*Fault{{File: name, Line: line, Column: column, Problem: what, Hint: hint}}
	}
	if len(data) > mostBytes {
		return node{}, fault(0, 0, fmt.Sprintf("is larger than a plan file can be: %d bytes, %d allowed", len(data), mostBytes), "check that this is a plan file")
	}
	data = bytes.TrimPrefix(data, []byte("\xef\xbb\xbf"))
	// the YAML package counts a line twice where a comment ends in CRLF
	data = bytes.ReplaceAll(bytes.ReplaceAll(data, []byte("\r\n"), []byte("\n")), []byte("\r"), []byte("\n"))
	if line, column, what := badText(data); what != "" {
		return node{}, fault(line, column, what, "save the file as plain UTF-8 text")
	}
	// The YAML package is not ours; should it fail on some input, that is
	// still only a file that cannot be read.
	defer func() {
		if r := recover(); r != nil {
			root, faults = node{}, fault(0, 0, "cannot be read as YAML", "")
		}
	}()
	tokens := lexer.Tokenize(string(data))
	if f := guard(name, tokens); len(f) > 0 {
		return node{}, f
	}
	file, err := parser.Parse(tokens, 0, parser.AllowDuplicateMapKey())
	if err != nil {
		var se *yaml.SyntaxError
		if errors.As(err, &se) && se.GetToken() != nil {
			at := se.GetToken().Position
			return node{}, fault(at.Line, at.Column, "is no YAML: "+se.GetMessage(), syntaxHint(se.GetMessage()))
		}
		return node{}, fault(0, 0, "is no YAML: "+firstLine(err.Error()), "")
	}
	c := converter{name: name}
	for _, doc := range file.Docs {
		if doc.Body != nil {
			root = c.node(doc.Body, 0)
		}
	}
	return root, c.faults
}

// syntaxHint puts the usual slips in a grower's words.
func syntaxHint(message string) string {
	switch {
	case strings.Contains(message, "mapping value is not allowed"):
		return "look for a second colon on the line, or a line that is set in too far; put text with a colon in quotes"
	case strings.Contains(message, "cannot start any token"):
		return "set lines in with spaces, not with tabs"
	case strings.Contains(message, "reserved character"):
		return "put the text in quotes"
	}
	return ""
}

func firstLine(s string) string {
	s, _, _ = strings.Cut(s, "\n")
	return s
}

// badText finds the first byte that is no UTF-8, or a control character.
func badText(data []byte) (line, column int, what string) {
	line, column = 1, 1
	for len(data) > 0 {
		r, n := utf8.DecodeRune(data)
		switch {
		case r == utf8.RuneError && n <= 1:
			return line, column, "is no UTF-8 text"
		case r < ' ' && r != '\n' && r != '\t', r == 0x7f, r == '\ufeff':
			return line, column, fmt.Sprintf("has a character that is no text: U+%04X", r)
		case r == '\n':
			line, column = line+1, 0
		}
		data = data[n:]
		column++
	}
	return 0, 0, ""
}

// mostTokens bounds the keys and values of a file: the YAML package takes a
// time that grows with their square, 0.2 s for these. A thousand plants with
// all their keys are 16,000.
const mostTokens = 20_000

// guard refuses, before any of it is followed, what a plan has no use for and
// what would make reading costly.
func guard(name string, tokens token.Tokens) []*Fault {
	g := guardian{name: name, first: firstOfDocument(tokens)}
	for i, tk := range tokens {
		if tk.Type == token.CommentType {
			continue
		}
		if g.count++; g.count > mostTokens {
			g.refuse(tk, "has more keys and values than a plan can have", "check that this is a plan file")
		} else if what, hint := foreign(tk.Type); what != "" {
			g.refuse(tk, what, hint)
			if len(g.faults) < mostFaults {
				continue
			}
		} else if !g.nesting(tokens, i) {
			continue
		}
		return g.faults
	}
	return g.faults
}

// foreign names the parts of YAML that a plan has no use for.
func foreign(t token.Type) (what, hint string) {
	switch t {
	case token.AnchorType, token.AliasType, token.MergeKeyType:
		return "anchors and aliases are not read in a plan", "write the values out, or put text that begins with & or * in quotes"
	case token.TagType:
		return "tags are not read in a plan", "take the tag away, or put text that begins with ! in quotes"
	case token.MappingKeyType:
		return "keys with a question mark are not read in a plan", "write key: value"
	case token.DirectiveType:
		return "directives are not read in a plan", "take the line away, or put text that begins with % in quotes"
	case token.LiteralType, token.FoldedType:
		return "blocks of text are not read in a plan", "write the text behind its key, on one line"
	}
	return "", ""
}

// guardian follows how deep a file is nested, without recursion.
type guardian struct {
	name   string
	first  int // token that is no comment
	faults []*Fault
	count  int
	open   int   // brackets
	indent []int // columns of the keys and dashes that enclose this line
	dashed int   // line of the last dash
}

func (g *guardian) refuse(tk *token.Token, what, hint string) {
	g.faults = append(g.faults, &Fault{File: g.name, Line: tk.Position.Line, Column: tk.Position.Column, Problem: what, Hint: hint})
}

// nesting follows one token; true when the file had to be refused.
func (g *guardian) nesting(tokens token.Tokens, i int) bool {
	tk := tokens[i]
	switch tk.Type {
	case token.DocumentHeaderType:
		if i > g.first {
			g.refuse(tk, "a second document begins here", "keep one plan in a file")
			return true
		}
	case token.SequenceStartType, token.MappingStartType:
		g.open++
	case token.SequenceEndType, token.MappingEndType:
		g.open--
	case token.SequenceEntryType:
		if tk.Position.Line == g.dashed {
			g.refuse(tk, "a list lies inside a list", "begin every entry on its own line")
			return true
		}
		g.dashed = tk.Position.Line
		g.enter(tk.Position.Column)
	case token.MappingValueType:
		if i > 0 {
			g.enter(tokens[i-1].Position.Column)
		}
	}
	if g.open+len(g.indent) > mostNested {
		g.refuse(tk, "lists or maps lie too deep in each other", "a plan has sections and keys, no more")
		return true
	}
	return false
}

// enter closes the levels set in as far as this column or further, and opens
// one. Inside brackets columns mean nothing.
func (g *guardian) enter(column int) {
	if g.open > 0 {
		return
	}
	for len(g.indent) > 0 && g.indent[len(g.indent)-1] >= column {
		g.indent = g.indent[:len(g.indent)-1]
	}
	g.indent = append(g.indent, column)
}

// firstOfDocument is the index of the first token that is no comment.
func firstOfDocument(tokens token.Tokens) int {
	for i, tk := range tokens {
		if tk.Type != token.CommentType {
			return i
		}
	}
	return len(tokens)
}

// converter turns the YAML package's tree into ours.
type converter struct {
	name   string
	faults []*Fault
}

func (c *converter) refuse(tk *token.Token, what string) {
	c.faults = append(c.faults, &Fault{File: c.name, Line: tk.Position.Line, Column: tk.Position.Column, Problem: what})
}

func (c *converter) node(n ast.Node, depth int) node {
	tk := n.GetToken()
	out := node{line: tk.Position.Line, column: tk.Position.Column}
	if depth > mostNested {
		c.refuse(tk, "lists or maps lie too deep in each other")
		return out
	}
	switch n := n.(type) {
	case *ast.NullNode, *ast.CommentGroupNode:
		out.shape = shapeEmpty
	case *ast.MappingNode:
		out.shape = shapeMap
		for _, v := range n.Values {
			out.pairs = append(out.pairs, c.pair(v, depth))
		}
		if len(out.pairs) > 0 && !n.IsFlowStyle { // the package points at the colon
			out.line, out.column = out.pairs[0].line, out.pairs[0].column
		}
	case *ast.MappingValueNode:
		p := c.pair(n, depth)
		out = node{line: p.line, column: p.column, shape: shapeMap, pairs: []pair{p}}
	case *ast.SequenceNode:
		out.shape = shapeList
		for _, v := range n.Values {
			if v == nil {
				continue
			}
			out.items = append(out.items, c.node(v, depth+1))
		}
	case ast.ScalarNode:
		out.shape, out.text = shapeScalar, tk.Value
	default:
		c.refuse(tk, "this part of YAML is not read in a plan")
	}
	return out
}

func (c *converter) pair(v *ast.MappingValueNode, depth int) pair {
	tk := v.Key.GetToken()
	p := pair{key: tk.Value, line: tk.Position.Line, column: tk.Position.Column}
	if v.Value == nil {
		p.value = node{line: p.line, column: p.column}
		return p
	}
	p.value = c.node(v.Value, depth+1)
	if p.value.shape == shapeEmpty { // point at the key that has no value
		p.value.line, p.value.column = p.line, p.column
	}
	return p
}

// PathList writes what a flag for files was given, once or several times, as
// [Plan.Override] reads it. A value that is a list itself stands for its items.
func PathList(values []string) string {
	if len(values) == 1 {
		return values[0]
	}
	var items []string
	for _, v := range values {
		list := []string{v}
		if strings.HasPrefix(strings.TrimSpace(v), "[") {
			if l, bad := readList(v); bad == nil {
				list = l
			}
		}
		for _, s := range list {
			items = append(items, quoteText(s))
		}
	}
	return "[" + strings.Join(items, ", ") + "]"
}

// readList reads a list as a flag gives it: [a.geojson, b.geojson].
func readList(s string) ([]string, *problem) {
	bad := &problem{show(s) + " is not a list of file names", "write [ponds.geojson, rocks.geojson]"}
	root, faults := readTree("", []byte(s))
	if len(faults) > 0 || root.shape != shapeList {
		return nil, bad
	}
	var out []string
	for _, n := range root.items {
		if n.shape != shapeScalar {
			return nil, bad
		}
		out = append(out, n.text)
	}
	return out, nil
}

// quoteText writes text so that YAML reads the same text, in quotes unless it
// is a plain word or file name.
func quoteText(s string) string {
	if plainWord(s) {
		return s
	}
	return `"` + strings.NewReplacer(`\`, `\\`, `"`, `\"`).Replace(s) + `"`
}

// plainWord tells whether a text needs no quotes for any reader of YAML:
// letters first, nothing special, and no word that some take for a switch.
func plainWord(s string) bool {
	for i, r := range s {
		letter := r >= 'a' && r <= 'z' || r >= 'A' && r <= 'Z'
		if !letter && (i == 0 || !strings.ContainsRune("0123456789 ._-/=", r)) {
			return false
		}
	}
	switch strings.ToLower(s) {
	case "", "y", "n", "yes", "no", "true", "false", "on", "off", "null":
		return false
	}
	return !strings.HasSuffix(s, " ")
}
