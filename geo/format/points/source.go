package points

import (
	"bytes"
	"fmt"
	"io"

	"hemrow/geo"
	"hemrow/geo/format/encoded"
)

const (
	// sampled is how much of the beginning is looked at to find out how the
	// file is built, in bytes and rows.
	sampled     = 64 << 10
	sampledRows = 100
	// firstBuffer is what most files fit in; it grows to twice what is sampled.
	firstBuffer = 16 << 10
	// maxRow bounds one row, so that a quotation mark that is never closed does
	// not read the whole file into memory.
	maxRow = 16 << 20
	// maxEmptyReads is how often a reader may return nothing in a row, as in
	// package bufio.
	maxEmptyReads = 100
)

// source cuts the input into lines.
type source struct {
	r     io.Reader
	buf   []byte // what was read and not yet dropped
	start int    // of the row handed out last
	pos   int    // first byte behind it
	total int
	eof   bool
	mark  bool // a byte order mark was there
	wide  bool // UTF-16
	eol   byte
	line  int // of the row handed out last, from 1
	ended int // lines that ended before pos
}

func newSource(r io.Reader) *source { return &source{r: r, eol: '\n'} }

// open reads the beginning: takes off a byte order mark, recodes UTF-16, and
// refuses what is no text.
func (s *source) open() error {
	if err := s.fillTo(sampled); err != nil {
		return err
	}
	if little, ok := encoded.IsUTF16(s.buf); ok {
		whole := io.MultiReader(bytes.NewReader(bytes.Clone(s.buf)), s.r)
		if s.eof {
			whole = bytes.NewReader(bytes.Clone(s.buf))
		}
		*s = source{r: encoded.UTF16(whole, little), eol: '\n', wide: true}
		if err := s.fillTo(sampled); err != nil {
			return err
		}
	}
	if bytes.HasPrefix(s.buf, []byte("\xEF\xBB\xBF")) {
		s.mark = true
		s.start, s.pos = 3, 3
	}
	rest := s.buf[s.pos:]
	if len(bytes.TrimSpace(rest)) == 0 && s.eof {
		return &geo.InputError{Problem: "the file is empty"}
	}
	if problem, hint := foreign(rest); problem != "" {
		return &geo.InputError{Problem: problem, Hint: hint}
	}
	if bytes.IndexByte(rest, '\n') < 0 && bytes.IndexByte(rest, '\r') >= 0 {
		s.eol = '\r'
	}
	return nil
}

func (s *source) notes(place string) (out geo.Notes) {
	if s.mark {
		out = append(out, geo.Note{Code: geo.NoteByteMark, Place: place, Text: "a byte order mark at the beginning was passed over"})
	}
	if s.wide {
		out = append(out, geo.Note{Code: geo.NoteRecoded, Place: place, Text: "the file is written in UTF-16 and was recoded"})
	}
	return out
}

// fillTo reads until n bytes are there or the input ends.
func (s *source) fillTo(n int) error {
	for len(s.buf) < n && !s.eof {
		if err := s.fill(); err != nil {
			return err
		}
	}
	return nil
}

// fill reads more bytes, dropping those before start.
func (s *source) fill() error {
	if s.start > 0 {
		n := copy(s.buf, s.buf[s.start:])
		s.buf = s.buf[:n]
		s.pos -= s.start
		s.start = 0
	}
	if len(s.buf) == cap(s.buf) || s.line > 0 && cap(s.buf) < 2*sampled {
		next := make([]byte, len(s.buf), max(firstBuffer, 2*cap(s.buf)))
		copy(next, s.buf)
		s.buf = next
	}
	for range maxEmptyReads {
		n, err := s.r.Read(s.buf[len(s.buf):cap(s.buf)])
		s.buf = s.buf[:len(s.buf)+n]
		if s.total += n; s.total > MaxBytes {
			return &geo.InputError{Problem: fmt.Sprintf("the file is larger than %d MiB", MaxBytes>>20), Hint: "cut out the ground that is needed, or thin the points"}
		}
		if err == io.EOF {
			s.eof = true
			return nil
		}
		if n > 0 || err != nil {
			return err
		}
	}
	return io.ErrNoProgress
}

// next is the next line without its end. It returns io.EOF behind the last.
func (s *source) next() ([]byte, error) {
	s.start = s.pos
	s.line = s.ended + 1
	return s.extend()
}

// extend makes the row handed out last one line longer.
func (s *source) extend() ([]byte, error) {
	from := s.pos
	for {
		if k := bytes.IndexByte(s.buf[from:], s.eol); k >= 0 {
			s.pos = from + k + 1
			s.ended++
			return trimEnd(s.buf[s.start : s.pos-1]), nil
		}
		if s.eof {
			if s.pos == len(s.buf) {
				return nil, io.EOF
			}
			s.pos = len(s.buf)
			s.ended++
			return trimEnd(s.buf[s.start:]), nil
		}
		done := len(s.buf) - s.start
		if done > maxRow {
			return nil, &geo.InputError{Line: s.line, Problem: fmt.Sprintf("the row is longer than %d MiB", maxRow>>20), Hint: "look for a quotation mark that is never closed"}
		}
		if err := s.fill(); err != nil {
			return nil, err
		}
		from = s.start + done
	}
}

func trimEnd(b []byte) []byte {
	if n := len(b); n > 0 && b[n-1] == '\r' {
		return b[:n-1]
	}
	return b
}

// sample is the first lines, without taking them.
func (s *source) sample() [][]byte {
	rest := s.buf[s.pos:]
	var out [][]byte
	for len(rest) > 0 && len(out) < sampledRows {
		k := bytes.IndexByte(rest, s.eol)
		if k < 0 {
			if s.eof || len(out) == 0 {
				out = append(out, trimEnd(rest))
			}
			break
		}
		out = append(out, trimEnd(rest[:k]))
		rest = rest[k+1:]
	}
	return out
}

// passOver reports whether a line is blank or a comment.
func passOver(b []byte) bool {
	for _, c := range b {
		if c != ' ' && c != '\t' && c != '\r' {
			return c == '#'
		}
	}
	return true
}

// foreign names a file that is something else, by its first bytes.
func foreign(b []byte) (problem, hint string) {
	b = b[:min(len(b), sampled)]
	for _, m := range [...]struct{ magic, problem, hint string }{
		{"PK\x03\x04", "this is a zip archive or a spreadsheet, not a text", "save the table of points as CSV"},
		{"\xD0\xCF\x11\xE0", "this is a spreadsheet, not a text", "save the table of points as CSV"},
		{"\x1F\x8B", "this file is compressed (gzip)", "unpack it first"},
		{"SQLite format 3\x00", "this is an SQLite database, perhaps a GeoPackage", "export the points as CSV"},
		{"\x00\x00\x27\x0A", "this is a shapefile", "name it with its ending .shp"},
		{"%PDF", "this is a PDF document", "ask for the points as CSV"},
		{"LASF", "this is a point cloud (LAS)", "export the points as text"},
	} {
		if bytes.HasPrefix(b, []byte(m.magic)) {
			return m.problem, m.hint
		}
	}
	if i := bytes.IndexByte(b, 0); i >= 0 {
		return "a zero byte: this is no text", "export the points as CSV"
	}
	switch head := bytes.TrimSpace(b); {
	case bytes.HasPrefix(head, []byte("<")):
		return "this is a page or a file in XML, not a table of points", "if it was downloaded, fetch it again; export the points as CSV"
	case bytes.HasPrefix(head, []byte("{")):
		return "this is JSON, not a table of points", "a GeoJSON file is named with its ending .geojson"
	case bytes.HasPrefix(head, []byte("$G")):
		return "this is a log of a receiver (NMEA 0183), not a table of points", "export the points as CSV"
	}
	return "", ""
}
