package points

import (
	"bytes"
	"fmt"
	"strings"

	"hemrow/geo/format/encoded"
)

// splitter cuts lines into fields, using the same memory for each.
type splitter struct {
	sep   byte // ; tab , | or a blank for any run of blanks; 0 for one column
	parts [][]byte
}

type quoteFault int

const (
	quoteFine  quoteFault = iota
	quoteOpen             // the line ends inside quotation marks
	quoteStray            // text follows the closing one
)

// fields cuts a line. Fields are trimmed; quoted ones lose their quotation
// marks (RFC 4180, 2005, section 2, rules 5 to 7). A quotation mark inside a
// field that does not begin with one stands for itself, as in 46°57'00.2".
func (s *splitter) fields(b []byte) ([][]byte, quoteFault) {
	s.parts = s.parts[:0]
	if s.sep == ' ' {
		return s.blanks(b)
	}
	for {
		if q := skipBlank(b, s.sep); q < len(b) && b[q] == '"' {
			rest, more, fault := s.quoted(b[q:])
			if fault != quoteFine || !more {
				return s.parts, fault
			}
			b = rest
			continue
		}
		k := -1
		if s.sep != 0 {
			k = bytes.IndexByte(b, s.sep)
		}
		if k < 0 {
			s.parts = append(s.parts, trimBlank(b))
			return s.parts, quoteFine
		}
		s.parts = append(s.parts, trimBlank(b[:k]))
		b = b[k+1:]
	}
}

// blanks cuts at runs of blanks and tabs.
func (s *splitter) blanks(b []byte) ([][]byte, quoteFault) {
	for {
		b = b[skipBlank(b, 0):]
		if len(b) == 0 {
			return s.parts, quoteFine
		}
		if b[0] == '"' {
			rest, more, fault := s.quoted(b)
			if fault != quoteFine || !more {
				return s.parts, fault
			}
			b = rest
			continue
		}
		k := 0
		for k < len(b) && b[k] != ' ' && b[k] != '\t' {
			k++
		}
		s.parts = append(s.parts, b[:k])
		b = b[k:]
	}
}

// quoted reads the quoted field at the beginning of b and the separator behind
// it; more is false at the end of the line.
func (s *splitter) quoted(b []byte) (rest []byte, more bool, fault quoteFault) {
	doubled := false
	end := 1
	for {
		k := bytes.IndexByte(b[end:], '"')
		if k < 0 {
			return nil, false, quoteOpen
		}
		end += k + 1
		if end == len(b) || b[end] != '"' {
			break
		}
		doubled = true
		end++
	}
	field := b[1 : end-1]
	if doubled {
		field = bytes.ReplaceAll(field, []byte(`""`), []byte(`"`))
	}
	s.parts = append(s.parts, trimBlank(field))
	if s.sep == ' ' {
		stray := end < len(b) && b[end] != ' ' && b[end] != '\t'
		return b[end:], true, map[bool]quoteFault{true: quoteStray}[stray]
	}
	end += skipBlank(b[end:], s.sep)
	switch {
	case end == len(b):
		return nil, false, quoteFine
	case s.sep != 0 && b[end] == s.sep:
		return b[end+1:], true, quoteFine
	}
	return nil, false, quoteStray
}

// skipBlank counts the blanks and tabs at the beginning of b, but no separator.
func skipBlank(b []byte, sep byte) int {
	for i, c := range b {
		if c != ' ' && c != '\t' || c == sep {
			return i
		}
	}
	return len(b)
}

func trimBlank(b []byte) []byte {
	for len(b) > 0 && (b[0] == ' ' || b[0] == '\t') {
		b = b[1:]
	}
	for len(b) > 0 && (b[len(b)-1] == ' ' || b[len(b)-1] == '\t') {
		b = b[:len(b)-1]
	}
	return b
}

// joinPairs makes one field of every two that were cut out at a comma, which is
// the decimal mark then. An odd field at the end stays.
func joinPairs(fields [][]byte) [][]byte {
	n := 0
	for i := 0; i < len(fields); i += 2 {
		fields[n] = bytes.Join(fields[i:min(i+2, len(fields))], []byte{','})
		n++
	}
	return fields[:n]
}

func allEmpty(fields [][]byte) bool {
	for _, f := range fields {
		if len(f) > 0 {
			return false
		}
	}
	return true
}

// quoted shows fields in a message, set apart by bars.
func quoted(fields [][]byte) string {
	const most = 12
	words := make([]string, 0, most)
	for _, f := range fields[:min(len(fields), most)] {
		words = append(words, shown(f))
	}
	if len(fields) > most {
		words = append(words, "...")
	}
	return strings.Join(words, " | ")
}

// shown is a field for a message: printable and not too long.
func shown(b []byte) string {
	const most = 40
	s, _ := encoded.Text(b)
	if r := []rune(s); len(r) > most {
		s = string(r[:most]) + "..."
	}
	s = fmt.Sprintf("%q", s)
	return s[1 : len(s)-1]
}
