package geojson

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"sync"

	"hemrow/geo"
	"hemrow/geo/format"
)

// recordMark stands before each record of a sequence (RFC 8142 section 2.1).
const recordMark = 0x1E

// How the values of the input are set apart.
const (
	oneAfterAnother = iota
	byLine
	byRecord
)

// Raw is one feature as the file writes it.
type Raw struct {
	Number int    // from 1, in the order of the input
	Line   int    // where it starts, from 1
	Bytes  []byte // must not be changed
	Err    error  // set when the record is broken; Decode returns it

	col  int // column of the first byte
	code int // EPSG number of the input's system, 0 for WGS84
	esri esriFlags
}

// Stream cuts an input into raw features in constant memory. Next must be
// called from one goroutine; the other methods from any.
type Stream struct {
	name   string
	src    *source
	limit  int // longest feature
	opened bool
	way    int
	doc    *cutter // over the whole input
	rec    *cutter // over one record that is not a plain feature
	recRaw Raw     // that record
	number int     // features cut so far
	err    error

	mu    sync.Mutex
	ref   format.Reference
	notes geo.Notes
}

// NewStream returns a stream over r; name is the file as the user named it,
// for messages. Nothing is read before the first call of [Stream.Next].
func NewStream(name string, r io.Reader) *Stream {
	s := &Stream{name: name, src: newSource(r), limit: maxFeatureBytes, ref: format.Reference{WGS84: true}}
	s.doc = &cutter{s: s, src: s.src}
	return s
}

// Name is the file as the user named it.
func (s *Stream) Name() string { return s.name }

// Reference is the coordinate reference system: WGS84, or the one that a crs
// member before the features names by its EPSG number, with the file's own
// words for it as far as they have been read.
func (s *Stream) Reference() format.Reference {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.ref
}

// Notes are those about the file as a whole. They are complete when Next has
// returned an error.
func (s *Stream) Notes() geo.Notes {
	s.mu.Lock()
	defer s.mu.Unlock()
	return append(geo.Notes(nil), s.notes...)
}

// Next cuts the next feature out of the input. It returns io.EOF at the end.
// Any other error ends the stream: the file is no GeoJSON, it is cut short, its
// brackets do not match, it names a coordinate system by no number. A
// broken record of a sequence, or a broken line, is returned as a Raw with Err
// set, and the stream goes on.
//
// A crs member may stand behind the features of its collection. When it names
// another system, the error comes after the features, and none of them may be
// used.
func (s *Stream) Next() (Raw, error) {
	if s.err != nil {
		return Raw{}, s.err
	}
	raw, err := s.next()
	raw.code = s.ref.Code // only this goroutine writes it
	s.err = err
	return raw, err
}

func (s *Stream) next() (Raw, error) {
	if !s.opened {
		s.opened = true
		if err := s.open(); err != nil {
			return Raw{}, err
		}
	}
	if s.way == oneAfterAnother {
		raw, err := s.doc.next()
		if !errors.Is(err, errLines) {
			return raw, err
		}
		s.way = byLine
	}
	for {
		if s.rec == nil {
			raw, plain, err := s.record()
			if plain || err != nil {
				return raw, err
			}
		}
		raw, err := s.rec.next()
		switch {
		case err == nil:
			return raw, nil
		case errors.Is(err, io.EOF):
			s.rec = nil
			continue
		case errors.Is(err, errLines): // two values, one below the other, in one record
			s.rec.oneLine = false
			continue
		}
		return s.broken(err), nil
	}
}

// record takes the next line or record. plain is true when it is returned as
// it is; otherwise rec is set to look into it.
func (s *Stream) record() (raw Raw, plain bool, err error) {
	src := s.src
	for src.peek() == recordMark {
		src.pos++
	}
	if src.ended() {
		if src.err != nil {
			return Raw{}, false, fmt.Errorf("%s: %w", s.name, src.err)
		}
		return Raw{}, false, io.EOF
	}
	src.countTo(src.pos)
	delimiter := byte('\n')
	if s.way == byRecord {
		delimiter = recordMark
	}
	end, ok := src.index(delimiter, s.limit)
	start := src.pos
	if !ok {
		line, _ := src.place(start)
		src.passOver(delimiter)
		n := s.count()
		return Raw{Number: n, Line: line, Err: &geo.InputError{
			File: s.name, Line: line, Feature: n,
			Problem: fmt.Sprintf("one feature is longer than %d MiB", s.limit>>20),
			Hint:    "thin its vertices, or give each field a feature of its own",
		}}, true, nil
	}
	src.pos = end
	bytes := bytes.TrimRight(src.buf[start:end], " \t\r\n")
	line, col := src.place(start)
	raw = Raw{Line: line, Bytes: bytes[:len(bytes):len(bytes)], col: col}
	if isFeature(bytes) {
		raw.Number = s.count()
		return raw, true, nil
	}
	s.recRaw = raw
	s.rec = &cutter{s: s, src: src.record(start, start+len(bytes))}
	return Raw{}, false, nil
}

// broken is the rest of a record that cannot be cut further.
func (s *Stream) broken(err error) Raw {
	raw := s.recRaw
	s.rec = nil
	var e *geo.InputError
	if errors.As(err, &e) && e.Feature > 0 && e.Feature == s.number {
		raw.Number = s.number
	} else {
		raw.Number = s.count()
		if e != nil {
			e.Feature = raw.Number
		}
	}
	raw.Err = err
	return raw
}

// isFeature recognises a record that begins like a Feature without looking at
// the rest of it.
func isFeature(b []byte) bool {
	if len(b) == 0 || b[0] != '{' {
		return false
	}
	i := skipBlank(b, 1)
	if !bytes.HasPrefix(b[i:], []byte(`"type"`)) {
		return false
	}
	i = skipBlank(b, i+len(`"type"`))
	if i >= len(b) || b[i] != ':' {
		return false
	}
	i = skipBlank(b, i+1)
	return bytes.HasPrefix(b[i:], []byte(`"Feature"`))
}

// count numbers the next feature.
func (s *Stream) count() int {
	s.number++
	return s.number
}

// declare keeps the file's own words for its coordinate system.
func (s *Stream) declare(words string) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.ref.Declared = words
	s.ref.WGS84 = isWGS84(words)
	if s.ref.Code = 0; !s.ref.WGS84 {
		s.ref.Code = epsgCode(words)
	}
}

func (s *Stream) oldCRS() { s.note(noteFor(noteCRS, 1, s.name)) }

func (s *Stream) note(n geo.Note) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.notes = append(s.notes, n)
}
