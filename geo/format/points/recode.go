package points

import (
	"io"
	"strings"
	"unicode/utf16"
	"unicode/utf8"
)

// isUTF16 recognises UTF-16 by its byte order mark, or by a first character
// with a zero byte beside it.
func isUTF16(b []byte) (little, ok bool) {
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

// recoder turns UTF-16 into UTF-8. Halves without their partner become U+FFFD;
// the byte order mark is dropped.
type recoder struct {
	r      io.Reader
	little bool
	in     []byte
	inLen  int
	out    []byte
	high   rune // first half of a pair
	begun  bool
	err    error
}

func newRecoder(r io.Reader, little bool) *recoder {
	return &recoder{r: r, little: little, in: make([]byte, 64<<10)}
}

// Read implements io.Reader.
func (c *recoder) Read(p []byte) (int, error) {
	for len(c.out) == 0 {
		if c.err != nil {
			return 0, c.err
		}
		var n int
		n, c.err = c.r.Read(c.in[c.inLen:])
		c.inLen += n
		c.recode()
		if c.err == io.EOF && (c.inLen > 0 || c.high != 0) {
			c.out = utf8.AppendRune(c.out, utf8.RuneError)
			c.inLen, c.high = 0, 0
		}
		if n == 0 && c.err == nil {
			return 0, nil
		}
	}
	n := copy(p, c.out)
	c.out = c.out[n:]
	return n, nil
}

// recode turns all whole units of in into out.
func (c *recoder) recode() {
	out := c.out[:0]
	i := 0
	for ; i+1 < c.inLen; i += 2 {
		u := rune(c.in[i])<<8 | rune(c.in[i+1])
		if c.little {
			u = rune(c.in[i+1])<<8 | rune(c.in[i])
		}
		first := !c.begun
		c.begun = true
		if first && u == 0xFEFF {
			continue
		}
		if c.high != 0 {
			pair := utf16.DecodeRune(c.high, u)
			c.high = 0
			out = utf8.AppendRune(out, pair)
			if pair != utf8.RuneError {
				continue
			}
		}
		if u >= 0xD800 && u < 0xDC00 {
			c.high = u
			continue
		}
		out = utf8.AppendRune(out, u) // a lone second half becomes U+FFFD
	}
	c.inLen = copy(c.in, c.in[i:c.inLen])
	c.out = out
}

// windowsHigh are the characters 0x80 to 0x9F of Windows-1252 (from memory of
// the Unicode mapping table CP1252.TXT); U+FFFD where it has none. The rest is
// as in Latin-1.
var windowsHigh = [32]rune{
	0x20AC, 0xFFFD, 0x201A, 0x0192, 0x201E, 0x2026, 0x2020, 0x2021,
	0x02C6, 0x2030, 0x0160, 0x2039, 0x0152, 0xFFFD, 0x017D, 0xFFFD,
	0xFFFD, 0x2018, 0x2019, 0x201C, 0x201D, 0x2022, 0x2013, 0x2014,
	0x02DC, 0x2122, 0x0161, 0x203A, 0x0153, 0xFFFD, 0x017E, 0x0178,
}

// fromWindows reads text that is no UTF-8 as Windows-1252.
func fromWindows(b []byte) string {
	var out strings.Builder
	for _, c := range b {
		r := rune(c)
		if r >= 0x80 && r < 0xA0 {
			r = windowsHigh[r-0x80]
		}
		out.WriteRune(r)
	}
	return out.String()
}

// text is a field as text, and whether its encoding had to be guessed.
func text(b []byte) (s string, guessed bool) {
	if utf8.Valid(b) {
		return string(b), false
	}
	return fromWindows(b), true
}
