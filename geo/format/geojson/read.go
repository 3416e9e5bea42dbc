package geojson

import (
	"errors"
	"io"

	"hemrow/geo"
	"hemrow/geo/format"
)

// Read reads a whole file: a Feature, a FeatureCollection, a geometry, several
// of them, or a sequence. name is the file as the user named it.
//
// Features without geometry are left out with a note; a file that has no other
// is refused. The first fault ends the reading. On an error the File still
// holds its Reference, with what the file says about its coordinate system.
func Read(name string, r io.Reader) (format.File, error) {
	s := NewStream(name, r)
	out := format.File{Name: name, Format: format.GeoJSON}
	var all tallies
	for {
		raw, err := s.Next()
		out.Reference = s.Reference()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return format.File{Name: name, Format: format.GeoJSON, Reference: out.Reference}, err
		}
		f, t, err := s.decode(raw)
		if err != nil {
			return format.File{Name: name, Format: format.GeoJSON, Reference: out.Reference}, err
		}
		all.add(&t, f.Number)
		if t[noteLeft] == 0 {
			out.Features = append(out.Features, f)
		}
	}
	out.Notes = append(s.Notes(), all.notes(name)...)
	if len(out.Features) > 0 {
		return out, nil
	}
	e := &geo.InputError{File: name, Problem: "the file holds no feature", Hint: "draw the outline of the field as a Polygon"}
	if n := all.sum[noteLeft]; n > 0 {
		e.Problem = plural(n, "feature, and it has no geometry", "features, and none has a geometry")
	}
	return format.File{Name: name, Format: format.GeoJSON, Reference: out.Reference}, e
}
