// Package encoded reads text of older programs as UTF-8: UTF-16 with or without
// a byte order mark, and Windows-1252 where bytes are no UTF-8. The tables are
// those of golang.org/x/text.
package encoded

import (
	"io"
	"unicode/utf8"

	"golang.org/x/text/encoding/charmap"
	"golang.org/x/text/encoding/unicode"
	"golang.org/x/text/transform"
)

// IsUTF16 recognises UTF-16 by its byte order mark, or by a first character
// with a zero byte beside it.
func IsUTF16(b []byte) (little, ok bool) {
	if len(b) < 2 {
		return false, false
	}
	switch {
	case b[0] == 0xFF && b[1] == 0xFE, b[0] != 0 && b[1] == 0:
		return true, true
	case b[0] == 0xFE && b[1] == 0xFF, b[0] == 0 && b[1] >= ' ' && b[1] < 0x7F:
		return false, true
	}
	return false, false
}

// UTF16 turns UTF-16 into UTF-8 without a byte order mark. Halves without their
// partner become U+FFFD.
func UTF16(r io.Reader, little bool) io.Reader {
	order := unicode.BigEndian
	if little {
		order = unicode.LittleEndian
	}
	return transform.NewReader(r, unicode.UTF16(order, unicode.UseBOM).NewDecoder())
}

// Text is b as text: UTF-8 if it is valid, else Windows-1252, in which the few
// bytes that have no character become U+FFFD.
func Text(b []byte) (s string, guessed bool) {
	if utf8.Valid(b) {
		return string(b), false
	}
	out, err := charmap.Windows1252.NewDecoder().Bytes(b)
	if err != nil { // a decoder of single bytes has no error
		return string(b), true
	}
	return string(out), true
}
