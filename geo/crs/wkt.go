package crs

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"unicode/utf8"
)

// A text of a thousand characters is long; these are for what is no .prj file.
const (
	wktMaxBytes = 64 << 10
	wktMaxDepth = 16
)

// wktNode is one item of a well-known text: a keyword with arguments, a text
// in quotes, or a bare word or number.
type wktNode struct {
	word   string // keyword in capitals, or the text itself
	quoted bool
	args   []wktNode
	at     int // byte in the text, from 0
}

// wktError is a fault at a place of the text.
type wktError struct {
	at      int
	problem string
}

func (e *wktError) Error() string {
	return fmt.Sprintf("coordinate system text, character %d: %s", e.at+1, e.problem)
}

func wktFault(at int, format string, a ...any) error {
	return &wktError{at: at, problem: fmt.Sprintf(format, a...)}
}

// wktParser walks over a text.
type wktParser struct {
	text string
	at   int
}

// parseWKTTree reads the items of a text, usually one; some writers put the
// vertical system behind the horizontal one after a comma.
func parseWKTTree(text string) ([]wktNode, error) {
	if len(text) > wktMaxBytes {
		return nil, wktFault(0, "it has %d kB, more than the limit of %d; this is no .prj file", len(text)>>10, wktMaxBytes>>10)
	}
	p := &wktParser{text: strings.TrimRight(text, "\x00 \t\r\n\x1a")}
	if strings.HasPrefix(p.text, "\ufeff") {
		p.at = len("\ufeff")
	}
	var roots []wktNode
	for {
		n, err := p.item(1)
		if err != nil {
			return nil, err
		}
		roots = append(roots, n)
		p.space()
		switch {
		case p.at == len(p.text):
			return roots, nil
		case p.text[p.at] == ',':
			p.at++
		default:
			return nil, wktFault(p.at, "%s follows the end of the system", p.rest())
		}
	}
}

func (p *wktParser) space() {
	for p.at < len(p.text) && strings.IndexByte(" \t\r\n\x00", p.text[p.at]) >= 0 {
		p.at++
	}
}

// rest is the next few characters, for messages.
func (p *wktParser) rest() string {
	if p.at >= len(p.text) {
		return "the end of the text"
	}
	return strconv.Quote(clip(p.text[p.at:], 20))
}

func (p *wktParser) item(depth int) (wktNode, error) {
	p.space()
	n := wktNode{at: p.at}
	switch {
	case depth > wktMaxDepth:
		return n, wktFault(p.at, "brackets are nested deeper than %d", wktMaxDepth)
	case p.at == len(p.text):
		return n, wktFault(p.at, "the text ends where a value is due; copy the .prj file again")
	case p.text[p.at] == '"':
		return p.quotation()
	}
	start := p.at
	for p.at < len(p.text) && strings.IndexByte(" \t\r\n\x00,\"[]()", p.text[p.at]) < 0 {
		p.at++
	}
	if p.at == start {
		return n, wktFault(p.at, "%s stands where a value is due", p.rest())
	}
	n.word = strings.ToUpper(p.text[start:p.at])
	p.space()
	if p.at == len(p.text) || p.text[p.at] != '[' && p.text[p.at] != '(' {
		return n, nil
	}
	return n, p.arguments(&n, depth)
}

// arguments reads what is between a pair of brackets; round ones do as well.
func (p *wktParser) arguments(n *wktNode, depth int) error {
	open := p.at
	shut := byte(']')
	if p.text[p.at] == '(' {
		shut = ')'
	}
	p.at++
	for {
		arg, err := p.item(depth + 1)
		if err != nil {
			return err
		}
		n.args = append(n.args, arg)
		p.space()
		if p.at == len(p.text) {
			return wktFault(open, "this bracket is never closed; copy the .prj file again")
		}
		c := p.text[p.at]
		p.at++
		switch c {
		case ',':
		case shut:
			return nil
		default:
			p.at--
			return wktFault(p.at, "%s stands where a comma or %q is due", p.rest(), shut)
		}
	}
}

// quotation reads a text in quotes; a quote within is written twice.
func (p *wktParser) quotation() (wktNode, error) {
	n := wktNode{at: p.at, quoted: true}
	p.at++
	var b strings.Builder
	for {
		i := strings.IndexByte(p.text[p.at:], '"')
		if i < 0 {
			return n, wktFault(n.at, "this quotation is never closed; copy the .prj file again")
		}
		b.WriteString(p.text[p.at : p.at+i])
		p.at += i + 1
		if p.at == len(p.text) || p.text[p.at] != '"' {
			n.word = strings.TrimSpace(b.String())
			return n, nil
		}
		b.WriteByte('"')
		p.at++
	}
}

// child is the first argument with a keyword, nil if none.
func (n *wktNode) child(keywords ...string) *wktNode {
	for i := range n.args {
		a := &n.args[i]
		for _, k := range keywords {
			if !a.quoted && a.word == k {
				return a
			}
		}
	}
	return nil
}

// name is the first argument where it is a text.
func (n *wktNode) name() string {
	if n == nil || len(n.args) == 0 || len(n.args[0].args) > 0 {
		return ""
	}
	return n.args[0].word
}

// wktNumber is a number with the size of its last decimal.
type wktNumber struct {
	value, step float64 //unit:as the text writes
	given       bool
}

// number is argument i as a number.
func (n *wktNode) number(i int) (wktNumber, error) {
	if i >= len(n.args) {
		return wktNumber{}, wktFault(n.at, "%s has no number in place %d", n.word, i+1)
	}
	a := n.args[i]
	v, err := strconv.ParseFloat(a.word, 64)
	if err != nil || len(a.args) > 0 || math.IsNaN(v) || math.IsInf(v, 0) {
		return wktNumber{}, wktFault(a.at, "%q is no number", clip(a.word, 20))
	}
	return wktNumber{value: v, step: lastDecimal(a.word), given: true}, nil
}

// lastDecimal is the size of the last digit written.
func lastDecimal(text string) float64 { //unit:the number's
	mantissa, exponent, _ := strings.Cut(strings.ToUpper(text), "E")
	e, _ := strconv.Atoi(exponent)
	if _, decimals, ok := strings.Cut(mantissa, "."); ok {
		e -= len(decimals)
	}
	return math.Pow10(e)
}

// cutDecimals: a number with so many decimals or more may have been cut there,
// by rounding or without; one with fewer was meant as it stands.
const cutDecimals = 1e-6

// meant reports whether a number, in a unit, may be a writing of value.
func (n wktNumber) meant(unit, value float64) bool { //unit:value is the product's
	tol := 8 * (math.Nextafter(math.Abs(value), math.Inf(1)) - math.Abs(value))
	if n.step <= cutDecimals {
		tol += n.step * unit
	}
	return math.Abs(n.value*unit-value) <= tol
}

// authority is the EPSG code that an item carries, 0 if none.
func (n *wktNode) authority() int {
	a := n.child("AUTHORITY")
	if a == nil || len(a.args) < 2 || !strings.EqualFold(a.args[0].word, "EPSG") {
		return 0
	}
	code, _ := strconv.Atoi(a.args[1].word)
	return code
}

// clip shortens a text for a message.
func clip(s string, n int) string {
	if len(s) <= n {
		return s
	}
	for n > 0 && !utf8.RuneStart(s[n]) {
		n--
	}
	return s[:n] + "…"
}
