package geojson

import (
	"bytes"
	"io"
)

const (
	// blockSize is how much is read at once. Raw features point into a block,
	// so a block lives until its last feature is dropped.
	blockSize = 256 << 10
	// firstBlock is the same for the beginning of a file.
	firstBlock = 32 << 10
	// maxEmptyReads is how often a reader may return nothing in a row, as in
	// package bufio.
	maxEmptyReads = 100
)

// source is a window on the input. Bytes once read are never overwritten: a
// full block is followed by a fresh one, into which the unfinished tail is
// copied. So a slice of buf may be handed out without a copy.
type source struct {
	r    io.Reader // nil when everything is in buf
	buf  []byte
	pos  int   // next byte
	base int64 // offset of buf[0] in the input
	pin  int   // first byte to keep, -1 for pos
	eof  bool
	err  error // a failed read, other than the end

	// line counts from 1 and holds at buf[mark]; lineStart is the offset of
	// that line's first byte.
	mark      int
	line      int
	lineStart int64
}

func newSource(r io.Reader) *source { return &source{r: r, pin: -1, line: 1} }

// record is a source of bytes that are all there: buf[from:to] of s.
func (s *source) record(from, to int) *source {
	s.countTo(from)
	return &source{
		buf: s.buf[from:to:to], base: s.base + int64(from), pin: -1, eof: true,
		line: s.line, lineStart: s.lineStart,
	}
}

// fill reads more bytes and reports whether there were any.
func (s *source) fill() bool {
	if s.eof {
		return false
	}
	if len(s.buf) == cap(s.buf) {
		s.grow()
	}
	for range maxEmptyReads {
		n, err := s.r.Read(s.buf[len(s.buf):cap(s.buf)])
		s.buf = s.buf[:len(s.buf)+n]
		if err != nil {
			s.eof = true
			if err != io.EOF {
				s.err = err
			}
		}
		if n > 0 {
			return true
		}
		if s.eof {
			return false
		}
	}
	s.eof, s.err = true, io.ErrNoProgress
	return false
}

// grow starts a new block, twice as long as what must be kept, so that a long
// feature is copied only so often that the cost stays in proportion.
func (s *source) grow() {
	keep := s.pos
	if s.pin >= 0 {
		keep = s.pin
	}
	s.countTo(keep)
	kept := s.buf[keep:]
	size := blockSize
	if s.buf == nil { // most files are small
		size = firstBlock
	}
	next := make([]byte, len(kept), max(size, 2*len(kept)))
	copy(next, kept)
	s.buf = next
	s.base += int64(keep)
	s.pos -= keep
	s.mark -= keep
	if s.pin >= 0 {
		s.pin = 0
	}
}

// countTo moves the line count on to buf[i].
func (s *source) countTo(i int) {
	if i <= s.mark {
		return
	}
	span := s.buf[s.mark:i]
	if n := bytes.Count(span, []byte{'\n'}); n > 0 {
		s.line += n
		s.lineStart = s.base + int64(s.mark+bytes.LastIndexByte(span, '\n')+1)
	}
	s.mark = i
}

// place is the line and the column of buf[i], both from 1.
func (s *source) place(i int) (line, col int) {
	i = min(i, len(s.buf))
	line, start := s.line, s.lineStart
	if i > s.mark {
		span := s.buf[s.mark:i]
		if n := bytes.Count(span, []byte{'\n'}); n > 0 {
			line += n
			start = s.base + int64(s.mark+bytes.LastIndexByte(span, '\n')+1)
		}
	}
	return line, int(s.base+int64(i)-start) + 1
}

// peek is the next byte that is no blank, without taking it; 0 at the end.
func (s *source) peek() byte {
	for {
		for s.pos < len(s.buf) {
			if c := s.buf[s.pos]; !blank(c) {
				return c
			}
			s.pos++
		}
		if !s.fill() {
			return 0
		}
	}
}

// ended reports whether nothing is left.
func (s *source) ended() bool { return s.pos >= len(s.buf) && !s.fill() }

// held is how many bytes are pinned.
func (s *source) held() int {
	if s.pin < 0 {
		return 0
	}
	return s.pos - s.pin
}

// index finds the next c from pos on, reading as far as needed, and returns
// its place in buf, or len(buf) at the end of the input. When limit bytes have
// passed without it, ok is false.
func (s *source) index(c byte, limit int) (at int, ok bool) {
	from := s.pos
	for {
		if k := bytes.IndexByte(s.buf[from:], c); k >= 0 {
			return from + k, from+k-s.pos <= limit
		}
		if len(s.buf)-s.pos > limit {
			return len(s.buf), false
		}
		done := len(s.buf) - s.pos
		if !s.fill() {
			return len(s.buf), true
		}
		from = s.pos + done // a new block moves pos
	}
}

// passOver drops everything up to the next c, in constant memory.
func (s *source) passOver(c byte) {
	s.pin = -1
	for {
		if k := bytes.IndexByte(s.buf[s.pos:], c); k >= 0 {
			s.pos += k
			return
		}
		s.pos = len(s.buf)
		if !s.fill() {
			return
		}
	}
}

func blank(c byte) bool { return c == ' ' || c == '\n' || c == '\r' || c == '\t' }
