package shapefile

import (
	"errors"
	"io"
	"io/fs"

	"hemrow/geo"
	"hemrow/geo/format"
)

const formatName = "Shapefile"

// Read reads a whole layer; path, shown and opt are those of [Open].
//
// Null shapes are left out with a note; a layer that has no other is refused.
// The first fault ends the reading. On an error the File still holds its
// Reference.
func Read(fsys fs.FS, path, shown string, opt Options) (format.File, error) {
	s, err := Open(fsys, path, shown, opt)
	if err != nil {
		return format.File{Name: shown, Format: formatName}, err
	}
	f, err := s.readAll()
	if closing := s.Close(); err == nil {
		err = closing
	}
	return f, err
}

func (s *Stream) readAll() (format.File, error) {
	out := format.File{Name: s.name, Format: formatName, Reference: s.ref}
	failed := out
	var all tallies
	for {
		raw, err := s.Next()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return failed, err
		}
		f, t, err := s.decode(raw)
		if err != nil {
			return failed, err
		}
		all.add(&t, f.Number)
		if t.count[noteLeft] == 0 {
			out.Features = append(out.Features, f)
		}
	}
	out.Notes = append(s.Notes(), all.notes(s.label)...)
	if len(out.Features) > 0 {
		return out, nil
	}
	e := &geo.InputError{File: s.label, Problem: "the layer holds no feature", Hint: "draw the outline of the field as a polygon"}
	if n := all.sum.count[noteLeft]; n > 0 {
		e.Problem = plural(n, "feature, and it has no shape", "features, and none has a shape")
	}
	return failed, e
}
