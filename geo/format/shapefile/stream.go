package shapefile

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"sync"

	"hemrow/geo"
	"hemrow/geo/format"
)

// Raw is one record as the file has it. Its bytes must not be changed.
type Raw struct {
	Number int    // from 1, in file order
	Shape  []byte // content of the record of the .shp, from the shape type on
	Row    []byte // row of the .dbf, nil if there is none
	Err    error  // set when the record is broken; Decode returns it
}

// Stream takes the records of a layer in constant memory. Next must be called
// from one goroutine; Decode, Reference, Notes and Name from any.
type Stream struct {
	name  string // as the user named it
	label string // of the .shp, for messages
	ref   format.Reference
	head  mainHeader
	shp   *source
	index *index // nil when it is missing or wrong
	rows  *table // nil when there is no .dbf

	number  int
	deleted int // rows marked so, with their shapes
	err     error
	open    []func() error

	mu    sync.Mutex
	notes geo.Notes
}

// Open opens a layer. path names, inside fsys, a .shp or one of its companions,
// a .zip or a folder; shown is how the user named it and begins every message.
// The headers of all files are read and checked. When there are several layers
// and opt names none of them, the error lists them.
func Open(fsys fs.FS, path, shown string, opt Options) (*Stream, error) {
	b, err := openBundle(fsys, path, shown)
	if err != nil {
		return nil, err
	}
	s := &Stream{name: shown, open: []func() error{b.close}}
	if err := s.start(b, opt); err != nil {
		s.Close()
		return nil, err
	}
	return s, nil
}

func (s *Stream) start(b *bundle, opt Options) error {
	p, err := b.choose(opt)
	if err != nil {
		return err
	}
	s.notes = append(s.notes, b.notes...)
	s.label = b.label(p.shp)
	s.noteCase(p)
	if s.shp, err = s.openPart(b, p.shp); err != nil {
		return err
	}
	if s.head, err = readHeader(s.shp); err != nil {
		return err
	}
	if err := s.checkHead(); err != nil {
		return err
	}
	if s.ref, err = readReference(b, p.prj); err != nil {
		return err
	}
	if err := s.startIndex(b, p); err != nil {
		return err
	}
	return s.startTable(b, p)
}

// openPart opens one file, to be closed with the stream.
func (s *Stream) openPart(b *bundle, name string) (*source, error) {
	src, err := b.open(name)
	if err == nil {
		s.open = append(s.open, src.close)
	}
	return src, err
}

// checkHead refuses what cannot be read at all.
func (s *Stream) checkHead() error {
	e := &geo.InputError{File: s.label}
	switch f := family(s.head.kind); {
	case f == typePatch:
		e.Problem = "shapes of the kind MultiPatch (solid bodies) are not read"
		e.Hint = "export the outline as Polygon"
	case f < 0:
		e.Problem = fmt.Sprintf("the header names shape type %d, which there is not", s.head.kind)
	case s.head.bytes > s.shp.size:
		e.Problem = fmt.Sprintf("the file ends at byte %d of the %d that its header states", s.shp.size, s.head.bytes)
		e.Hint = "it was cut short; fetch or copy it again"
	default:
		return nil
	}
	return e
}

// startIndex reads the .shx and settles how the .shp is walked.
func (s *Stream) startIndex(b *bundle, p parts) error {
	if p.shx == "" {
		s.missing("there is no .shx beside it; the records were found by walking through the .shp")
		return nil
	}
	src, err := s.openPart(b, p.shx)
	if err != nil {
		return err
	}
	x := readIndex(src, s.shp, s.head)
	if x.why == "" {
		if x.src, err = s.openPart(b, p.shx); err != nil {
			return err
		}
		if err := x.src.seek(headerBytes); err != nil {
			return err
		}
	}
	if x.why == "" && !x.inStep {
		if err := s.shp.whole(); err != nil {
			return err
		}
		if x.why, err = x.fits(s.shp); err != nil {
			return err
		}
	}
	if x.why != "" {
		s.wrongIndex(x.why)
		return nil
	}
	s.index = &x
	return nil
}

func (s *Stream) wrongIndex(why string) {
	s.index = nil
	s.missing("the .shx is wrong: " + why + "; the records were found by walking through the .shp")
}

// missing notes a companion file that is not there or of no use.
func (s *Stream) missing(text string) {
	s.note(geo.Note{Code: geo.NoteCompanion, Place: s.label, Text: text})
}

// noteCase notes files whose names differ in capitals.
func (s *Stream) noteCase(p parts) {
	for _, n := range []string{p.shx, p.dbf, p.prj, p.cpg} {
		if n != "" && !sameCase(p.shp, n) {
			s.note(geo.Note{Code: geo.NoteNameCase, Place: s.label, Text: fmt.Sprintf("%s was taken for its companion, though its name differs in capitals", n)})
		}
	}
}

// startTable reads the head of the .dbf and settles which row belongs to which
// record.
func (s *Stream) startTable(b *bundle, p parts) error {
	if p.dbf == "" {
		s.missing("there is no .dbf beside it; the features have no names, only numbers")
		return nil
	}
	src, err := s.openPart(b, p.dbf)
	if err != nil {
		return err
	}
	declared, err := readCodePage(b, p.cpg)
	if err != nil {
		return err
	}
	if s.rows, err = readTable(src, declared); err != nil {
		return err
	}
	s.notes = append(s.notes, s.rows.notes()...)
	n, err := s.count(b, p)
	if err != nil || n < 0 || n == s.rows.count {
		return err
	}
	if src, err = s.openPart(b, p.dbf); err != nil {
		return err
	}
	gone, err := s.rows.countDeleted(src)
	if err != nil {
		return err
	}
	if s.rows.count-gone != n {
		return s.unequal(n)
	}
	s.rows.skip = true
	s.note(geo.Note{
		Code: geo.NoteFeatureLeft, Place: s.rows.src.label, Value: float64(gone), Unit: "rows",
		Text: plural(gone, "deleted row was passed over: it has no shape", "deleted rows were passed over: they have no shapes"),
	})
	return nil
}

// count is the number of shapes, -1 when the .shp cannot be walked to its end.
func (s *Stream) count(b *bundle, p parts) (int, error) {
	if s.index != nil {
		return s.index.count, nil
	}
	shp, err := b.open(p.shp)
	if err != nil {
		return 0, err
	}
	defer shp.close()
	if err := shp.seek(headerBytes); err != nil {
		return 0, err
	}
	return countRecords(shp), nil
}

// unequal says that rows and shapes cannot be matched.
func (s *Stream) unequal(shapes int) error {
	return &geo.InputError{
		File: s.label,
		Problem: fmt.Sprintf("the .shp holds %s and the .dbf %s: nobody can tell which belongs to which",
			plural(shapes, "shape", "shapes"), plural(s.rows.count, "row", "rows")),
		Hint: "export the layer again, or take the .dbf away to read the shapes without names",
	}
}

// Name is the file as the user named it.
func (s *Stream) Name() string { return s.name }

// Reference is what the .prj says.
func (s *Stream) Reference() format.Reference { return s.ref }

// Notes are those about the layer as a whole. They are complete when Next has
// returned an error.
func (s *Stream) Notes() geo.Notes {
	s.mu.Lock()
	defer s.mu.Unlock()
	return append(geo.Notes(nil), s.notes...)
}

func (s *Stream) note(n geo.Note) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.notes = append(s.notes, n)
}

// Close closes all files of the layer.
func (s *Stream) Close() error {
	var all []error
	for _, c := range s.open {
		all = append(all, c())
	}
	s.open = nil
	if s.err == nil {
		s.err = fs.ErrClosed
	}
	return errors.Join(all...)
}

// Next takes the next record. It returns io.EOF at the end; any other error
// ends the stream. A record that is broken is returned as a Raw with Err set,
// and the stream goes on. Records whose row is marked as deleted are left out.
func (s *Stream) Next() (Raw, error) {
	for s.err == nil {
		raw, err := s.next()
		if err != nil {
			s.err = err
			break
		}
		if s.rows == nil {
			return raw, nil
		}
		if raw.Row, err = s.rows.next(); err != nil {
			s.err = err
			break
		}
		if raw.Row[0] != deletedMark {
			return raw, nil
		}
		s.deleted++
	}
	return Raw{}, s.err
}

// next takes the next record without its row.
func (s *Stream) next() (raw Raw, err error) {
	if s.index != nil && !s.index.inStep {
		raw, err = s.follow()
	} else {
		raw, err = s.walk()
	}
	if err == io.EOF {
		return raw, s.end()
	}
	if err == nil && s.rows != nil && !s.rows.skip && s.number > s.rows.count {
		return raw, s.unequal(s.number)
	}
	return raw, err
}

// end checks what can only be checked at the end.
func (s *Stream) end() error {
	if s.rows != nil && s.rows.remains() {
		return s.unequal(s.number)
	}
	if err := s.shp.finish(); err != nil {
		return err
	}
	if s.rows != nil {
		if err := s.rows.src.finish(); err != nil {
			return err
		}
	}
	if n := s.deleted; n > 0 {
		s.note(geo.Note{
			Code: geo.NoteFeatureLeft, Severity: geo.Caution, Place: s.label, Value: float64(n), Unit: "features",
			Text: plural(n, "feature is marked as deleted in the .dbf and was left out", "features are marked as deleted in the .dbf and were left out"),
			Hint: "if they are still wanted, undelete them and export the layer again",
		})
	}
	return io.EOF
}
