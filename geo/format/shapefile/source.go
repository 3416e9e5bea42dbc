package shapefile

import (
	"archive/zip"
	"compress/flate"
	"errors"
	"fmt"
	"io"

	"hemrow/geo"
)

const (
	// blockSize is how much is read at once. Raw records point into a block,
	// so a block lives until its last record is dropped.
	blockSize = 256 << 10
	// maxRecordBytes is how long one record may be: 2.7 million vertices with
	// height and measure, more than any drive log.
	maxRecordBytes = 64 << 20
)

// source is a window on one file. Bytes once handed out are never overwritten:
// a full block is followed by a fresh one.
type source struct {
	label string // names the file in messages
	size  int64  // of the whole file, as the folder or the archive states it
	close func() error

	r    io.Reader
	at   io.ReaderAt // nil when it can only be read in step
	buf  []byte
	pos  int   // next byte in buf
	base int64 // offset of buf[0] in the file
}

// offset is the place of the next byte in the file.
func (s *source) offset() int64 { return s.base + int64(s.pos) }

// left is how many bytes the file still holds.
func (s *source) left() int64 { return s.size - s.offset() }

// take returns the next n bytes, which stay valid.
func (s *source) take(n int) ([]byte, error) {
	b, err := s.peek(n)
	s.pos += len(b)
	return b, err
}

// peek is take without moving on. At the end of the file it returns what is
// left and an error.
func (s *source) peek(n int) ([]byte, error) {
	if len(s.buf)-s.pos < n {
		if err := s.fill(n); err != nil {
			return nil, err
		}
	}
	have := min(n, len(s.buf)-s.pos)
	b := s.buf[s.pos : s.pos+have : s.pos+have]
	if have < n {
		return b, s.ended(n)
	}
	return b, nil
}

// fill reads until n bytes are there or the file ends.
func (s *source) fill(n int) error {
	rest := s.buf[s.pos:]
	room := min(int64(max(blockSize, n)), max(s.left(), 0))
	next := make([]byte, len(rest), max(int(room), len(rest)))
	copy(next, rest)
	s.base, s.pos = s.offset(), 0
	k, err := io.ReadFull(s.r, next[len(rest):cap(next)])
	s.buf = next[:len(rest)+k]
	if err == nil || errors.Is(err, io.EOF) || errors.Is(err, io.ErrUnexpectedEOF) {
		return nil
	}
	return s.broken(err)
}

// seek moves to an offset, as the reader allows: anywhere with random access,
// else only onward.
func (s *source) seek(to int64) error {
	by := to - s.offset()
	if by >= -int64(s.pos) && by <= int64(len(s.buf)-s.pos) {
		s.pos += int(by)
		return nil
	}
	if s.at != nil {
		s.r = io.NewSectionReader(s.at, to, max(0, s.size-to))
		s.buf, s.pos, s.base = nil, 0, to
		return nil
	}
	if by < 0 {
		return fmt.Errorf("%s: cannot go back to byte %d in a compressed file", s.label, to)
	}
	gone, err := io.CopyN(io.Discard, s.r, by-int64(len(s.buf)-s.pos))
	s.base += int64(len(s.buf)) + gone
	s.buf, s.pos = nil, 0
	if errors.Is(err, io.EOF) {
		return s.ended(1)
	}
	if err != nil {
		return s.broken(err)
	}
	return nil
}

// ended says that n bytes were due and the file ends before.
func (s *source) ended(n int) error {
	have := s.base + int64(len(s.buf))
	return &geo.InputError{
		File:    s.label,
		Problem: fmt.Sprintf("the file ends at byte %d, where %d bytes from byte %d on are due", have, n, s.offset()),
		Hint:    "it was cut short; fetch or copy it again",
	}
}

// broken is a failed read with the file's name: the input's fault if the
// archive around it is damaged.
func (s *source) broken(err error) error {
	var e *geo.InputError
	var corrupt flate.CorruptInputError
	switch {
	case errors.As(err, &e):
		return err
	case errors.As(err, &corrupt), errors.Is(err, zip.ErrChecksum), errors.Is(err, zip.ErrFormat), errors.Is(err, io.ErrUnexpectedEOF):
		return &geo.InputError{
			File: s.label, Problem: fmt.Sprintf("the archive is damaged from byte %d of this member on: %v", s.offset(), err),
			Hint: "fetch or pack it again",
		}
	}
	return fmt.Errorf("%s: byte %d: %w", s.label, s.offset(), err)
}
