package shapefile

import (
	"fmt"
	"io"

	"hemrow/geo"
)

// follow takes the next record where the .shx says.
func (s *Stream) follow() (Raw, error) {
	if s.number == s.index.count {
		return Raw{}, io.EOF
	}
	b, err := s.index.src.take(indexBytes)
	if err != nil {
		return Raw{}, err
	}
	s.number++
	e := readEntry(b)
	raw := Raw{Number: s.number}
	if e.content > maxRecordBytes {
		raw.Err = s.tooLong(e.content)
		return raw, nil
	}
	raw.Shape = make([]byte, e.content)
	if n, err := s.shp.at.ReadAt(raw.Shape, e.at+frameBytes); err != nil && n < len(raw.Shape) {
		return Raw{}, s.shp.broken(err)
	}
	return raw, nil
}

// walk takes the record that follows the last one. An index, if there is one,
// says the same without gaps; where both differ one of them is wrong.
func (s *Stream) walk() (Raw, error) {
	if s.shp.left() <= 0 || s.pastEnd() {
		return Raw{}, s.indexEnd()
	}
	at := s.shp.offset()
	b, err := s.shp.take(frameBytes)
	if err != nil {
		return Raw{}, err
	}
	s.number++
	number, content := readFrame(b)
	whole := content >= 0 && content <= s.shp.left()
	if s.index != nil {
		e, err := s.entry()
		switch {
		case err != nil:
			return Raw{}, err
		case e.content == content:
		case whole && int(number) == s.number: // the record knows itself
			s.wrongIndex(fmt.Sprintf("its entry %d does not fit the record", s.number))
		case e.at == at:
			raw := Raw{Number: s.number, Err: s.brokenFrame(at, number, content)}
			return raw, s.shp.seek(e.end())
		}
	}
	if !whole {
		return Raw{}, s.brokenFrame(at, number, content)
	}
	raw := Raw{Number: s.number}
	if content > maxRecordBytes {
		raw.Err = s.tooLong(content)
		return raw, s.shp.seek(s.shp.offset() + content)
	}
	raw.Shape, err = s.shp.take(int(content))
	return raw, err
}

// pastEnd reports whether what is left lies behind the length that the header
// states and is no further record: some programs leave bytes there, others
// never correct the length.
func (s *Stream) pastEnd() bool {
	if s.shp.offset() < s.head.bytes {
		return false
	}
	b, err := s.shp.peek(frameBytes)
	if err != nil {
		return true
	}
	number, content := readFrame(b)
	return int(number) != s.number+1 || content < 0 || content > s.shp.left()-frameBytes
}

// indexEnd is the end of the walk; an index that has more entries was wrong.
func (s *Stream) indexEnd() error {
	if s.index != nil && s.number < s.index.count {
		s.wrongIndex(fmt.Sprintf("it names %d records", s.index.count))
	}
	return io.EOF
}

// entry is the next one of the index, or an impossible one behind its end.
func (s *Stream) entry() (entry, error) {
	if s.number > s.index.count {
		return entry{at: -1, content: -1}, nil
	}
	b, err := s.index.src.take(indexBytes)
	if err != nil {
		return entry{}, err
	}
	return readEntry(b), nil
}

func (s *Stream) brokenFrame(at int64, number int32, content int64) error {
	return &geo.InputError{
		File: s.label, Feature: s.number,
		Problem: fmt.Sprintf("the record at byte %d is damaged: it calls itself number %d and claims %d bytes, of which the file (%d bytes) has %d",
			at, number, content, s.shp.size, max(0, s.shp.size-at-frameBytes)),
		Hint: "fetch or export the file again",
	}
}

func (s *Stream) tooLong(content int64) error {
	return &geo.InputError{
		File: s.label, Feature: s.number,
		Problem: fmt.Sprintf("the record has %d bytes; at most %d MiB are read", content, maxRecordBytes>>20),
		Hint:    "thin its vertices, or divide it",
	}
}
