package geotiff

import (
	"errors"
	"io"
)

// LZW of TIFF 6.0 section 13: codes of 9 to 12 bits, the high bit first, one
// bit longer one code earlier than need be.
const (
	lzwClear = 256
	lzwEnd   = 257
	lzwFirst = 258
	lzwBits  = 12
)

var (
	errLZWCode  = errors.New("an LZW code before its time")
	errLZWStyle = errors.New("LZW of the style used before TIFF 5.0 (1988)")
)

// lzwTable is the strings of the codes. The string of a code is that of its
// prefix and one byte more.
type lzwTable struct {
	prefix [1 << lzwBits]uint16
	last   [1 << lzwBits]byte
	first  [1 << lzwBits]byte
	length [1 << lzwBits]int
}

func newLZWTable() *lzwTable {
	t := new(lzwTable)
	for c := range lzwClear {
		t.last[c], t.first[c], t.length[c] = byte(c), byte(c), 1
	}
	return t
}

// unpack fills dst from r. An end before dst is full is io.ErrUnexpectedEOF;
// what comes after is left unread.
func (t *lzwTable) unpack(dst []byte, r io.ByteReader) error {
	var acc uint32
	var have, width uint = 0, 9
	next, before := lzwFirst, -1 // before: the code before this one, -1 after a clear
	for n, at := 0, 0; n < len(dst); at++ {
		for have < width {
			b, err := r.ReadByte()
			if err != nil {
				return short(err)
			}
			if at == 0 && have == 0 && b == 0 {
				return errLZWStyle // the new style begins with a clear code, 0x80
			}
			acc, have = acc<<8|uint32(b), have+8
		}
		code := int(acc >> (have - width) & (1<<width - 1))
		have -= width
		switch {
		case code == lzwEnd:
			return io.ErrUnexpectedEOF
		case code == lzwClear:
			next, before, width = lzwFirst, -1, 9
			continue
		case code > next || code >= lzwFirst && before < 0 || code == next && next == len(t.prefix):
			return errLZWCode
		}
		if before >= 0 && next < len(t.prefix) {
			t.add(next, before, code)
			next++
			if next == 1<<width-1 && width < lzwBits {
				width++
			}
		}
		n = t.emit(dst, n, code)
		before = code
	}
	return nil
}

// add makes code next the string of before and the first byte of code, which
// may be next itself.
func (t *lzwTable) add(next, before, code int) {
	tail := t.first[before]
	if code != next {
		tail = t.first[code]
	}
	t.prefix[next], t.last[next] = uint16(before), tail
	t.first[next], t.length[next] = t.first[before], t.length[before]+1
}

// emit writes the string of code at dst[n:], from its end, and returns the new
// end; what does not fit is dropped.
func (t *lzwTable) emit(dst []byte, n, code int) int {
	end := n + t.length[code]
	for i := end - 1; i >= n; i-- {
		if i < len(dst) {
			dst[i] = t.last[code]
		}
		code = int(t.prefix[code])
	}
	return min(end, len(dst))
}

// short is the error of input that ends too early.
func short(err error) error {
	if errors.Is(err, io.EOF) {
		return io.ErrUnexpectedEOF
	}
	return err
}

// unpackBits is PackBits of TIFF 6.0 section 9: runs of 2 to 128 bytes alike,
// or of 1 to 128 bytes as they are.
func unpackBits(dst []byte, r io.ByteReader) error {
	for n := 0; n < len(dst); {
		head, err := r.ReadByte()
		if err != nil {
			return short(err)
		}
		run, literal := 1-int(int8(head)), false
		if int8(head) >= 0 {
			run, literal = int(head)+1, true
		}
		if int8(head) == -128 { // no operation
			continue
		}
		var b byte
		for i := range min(run, len(dst)-n) {
			if literal || i == 0 {
				if b, err = r.ReadByte(); err != nil {
					return short(err)
				}
			}
			dst[n+i] = b
		}
		n += min(run, len(dst)-n)
	}
	return nil
}
