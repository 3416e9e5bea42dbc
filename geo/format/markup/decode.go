package markup

import (
	"bytes"
	"io"
	"regexp"
	"unicode/utf8"

	"golang.org/x/text/encoding"
	"golang.org/x/text/encoding/charmap"
	"golang.org/x/text/encoding/htmlindex"
	"golang.org/x/text/encoding/unicode"
	"golang.org/x/text/transform"

	"hemrow/geo"
)

// sniffed is how much of the beginning is looked at to tell what a file is.
const sniffed = 1024

// bounded reads no further than its budget.
type bounded struct {
	r    io.Reader
	left *int64
	over bool
	idle int   // reads without a byte in a row
	err  error // a failed read, other than the end
}

// maxIdle is how often a reader may return nothing in a row, as in package
// bufio.
const maxIdle = 100

// Read implements io.Reader.
func (b *bounded) Read(p []byte) (int, error) {
	if *b.left <= 0 {
		var one [1]byte
		if n, err := b.r.Read(one[:]); n == 0 {
			return 0, b.keep(0, err)
		}
		b.over = true
		return 0, io.ErrUnexpectedEOF
	}
	n, err := b.r.Read(p[:min(int64(len(p)), *b.left)])
	*b.left -= int64(n)
	return n, b.keep(n, err)
}

func (b *bounded) keep(n int, err error) error {
	b.idle++
	if n > 0 {
		b.idle = 0
	}
	if b.idle == maxIdle && err == nil {
		err = io.ErrNoProgress
	}
	if err != nil && err != io.EOF {
		b.err = err
	}
	return err
}

var declared = regexp.MustCompile(`^\s*<\?xml\s[^>]*?encoding\s*=\s*["']([^"']*)["']`)

// decode returns the text of the file in UTF-8.
func (r *Reader) decode() (io.Reader, error) {
	head := make([]byte, sniffed)
	n, err := io.ReadFull(r.in, head)
	head = head[:n]
	if err != nil && (r.in.err != nil || r.in.over) {
		return nil, r.broken(err)
	}
	whole := io.MultiReader(bytes.NewReader(head), r.in)
	if e := wide(head); e != nil {
		r.recoded("UTF-16")
		return transform.NewReader(whole, e.NewDecoder()), nil
	}
	if rest, ok := bytes.CutPrefix(head, []byte("\xEF\xBB\xBF")); ok {
		head, whole = rest, io.MultiReader(bytes.NewReader(rest), r.in)
		r.note(geo.NoteByteMark, "a byte order mark at the beginning was passed over")
	}
	if problem, hint := foreign(head); problem != "" {
		return nil, r.Fault(geo.InputError{}, problem, hint)
	}
	if m := declared.FindSubmatch(head); m != nil {
		label := string(m[1])
		e, err := htmlindex.Get(label)
		if err != nil {
			return nil, r.Fault(geo.InputError{Line: 1}, "the file says its text is in "+Clip(label)+", an encoding that is not known", "save it in UTF-8")
		}
		// eight-bit text that claims UTF-16 was saved anew by something
		if name, _ := htmlindex.Name(e); name != "utf-8" && name != "utf-16le" && name != "utf-16be" {
			r.recoded(label)
			return transform.NewReader(whole, e.NewDecoder()), nil
		}
	}
	r.mend = &mender{}
	return transform.NewReader(whole, r.mend), nil
}

func (r *Reader) note(code geo.Code, text string) {
	r.notes = append(r.notes, geo.Note{Code: code, Severity: geo.Info, Place: r.name, Text: text})
}

func (r *Reader) recoded(from string) {
	r.note(geo.NoteRecoded, "the file is written in "+Clip(from)+" and was recoded")
}

// wide recognises UTF-16 by its byte order mark, or by a first < with a zero
// byte beside it.
func wide(b []byte) encoding.Encoding {
	if len(b) < 2 {
		return nil
	}
	switch {
	case b[0] == 0xFF && b[1] == 0xFE, b[0] == '<' && b[1] == 0:
		return unicode.UTF16(unicode.LittleEndian, unicode.UseBOM)
	case b[0] == 0xFE && b[1] == 0xFF, b[0] == 0 && b[1] == '<':
		return unicode.UTF16(unicode.BigEndian, unicode.UseBOM)
	}
	return nil
}

// mender passes UTF-8 on and reads bytes that are none as Windows-1252, so that
// a name in the wrong encoding does not cost the geometry.
type mender struct {
	transform.NopResetter
	mended int
}

// Transform implements transform.Transformer.
func (m *mender) Transform(dst, src []byte, atEOF bool) (nDst, nSrc int, err error) {
	if n := min(len(dst), len(src)); n == len(src) && utf8.Valid(src) {
		return copy(dst, src), n, nil
	}
	for nSrc < len(src) {
		c, size := utf8.DecodeRune(src[nSrc:])
		wrong := c == utf8.RuneError && size == 1
		if wrong && !atEOF && !utf8.FullRune(src[nSrc:]) {
			return nDst, nSrc, transform.ErrShortSrc
		}
		if wrong {
			c = charmap.Windows1252.DecodeByte(src[nSrc])
		}
		if nDst+utf8.RuneLen(c) > len(dst) {
			return nDst, nSrc, transform.ErrShortDst
		}
		if wrong {
			m.mended++
		}
		nDst += utf8.EncodeRune(dst[nDst:], c)
		nSrc += size
	}
	return nDst, nSrc, nil
}
