package geotiff

import (
	"encoding/binary"
	"errors"
	"fmt"
	"io"

	"hemrow/geo"
)

// source is the bytes of a file. Every length is checked against what the file
// has before anything is allocated for it.
type source struct {
	name  string
	r     io.ReaderAt
	size  int64
	order binary.ByteOrder
	big   bool // BigTIFF: counts and offsets of 64 bits
}

const hintCut = "the file is damaged or cut short; copy or download it again"

// fail is an error in the file.
func (s *source) fail(hint, problem string, args ...any) error {
	return &geo.InputError{File: s.name, Problem: fmt.Sprintf(problem, args...), Hint: hint}
}

// within checks that n bytes from off on are in the file.
func (s *source) within(off, n uint64, what string) error {
	if size := uint64(s.size); off > size || n > size-off {
		return s.fail(hintCut, "%s at byte %d runs past the end of the file (%d bytes)", what, off, s.size)
	}
	return nil
}

// at reads n bytes from off on.
func (s *source) at(off, n uint64, what string) ([]byte, error) {
	if err := s.within(off, n, what); err != nil {
		return nil, err
	}
	b := make([]byte, n)
	return b, s.fill(b, off, what)
}

// fill reads bytes that are known to be within the file.
func (s *source) fill(b []byte, off uint64, what string) error {
	n, err := s.r.ReadAt(b, int64(off))
	if n == len(b) {
		return nil
	}
	if errors.Is(err, io.EOF) {
		return s.fail(hintCut, "%s at byte %d: the file ends after %d bytes of %d", what, off, n, len(b))
	}
	return fmt.Errorf("%s: read %s at byte %d: %w", s.name, what, off, err)
}

func (s *source) bigEndian() bool { return s.order == binary.BigEndian }
