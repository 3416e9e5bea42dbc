package geojson

import (
	"io"
	"unicode/utf16"
	"unicode/utf8"
)

// isUTF16 recognises UTF-16 by its byte order mark, or by a first bracket with
// a zero byte beside it.
func isUTF16(b []byte) (little, ok bool) {
	if len(b) < 2 {
		return false, false
	}
	switch {
	case b[0] == 0xFF && b[1] == 0xFE, b[0] == '{' && b[1] == 0:
		return true, true
	case b[0] == 0xFE && b[1] == 0xFF, b[0] == 0 && b[1] == '{':
		return false, true
	}
	return false, false
}

// recoder turns UTF-16 into UTF-8. Halves without their partner become U+FFFD.
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
	return &recoder{r: r, little: little, in: make([]byte, 32<<10)}
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
			c.out = utf8.AppendRune(c.out, utf8.RuneError) // half a character
			c.inLen, c.high = 0, 0
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
		if !c.begun {
			c.begun = true
			if u == 0xFEFF {
				continue
			}
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
