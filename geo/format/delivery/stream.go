package delivery

import (
	"io"
	"io/fs"

	"hemrow/geo"
	"hemrow/geo/format"
	"hemrow/geo/format/geojson"
	"hemrow/geo/format/shapefile"
)

// Stream hands out the features of a file one after another. GeoJSON and
// shapefiles of any length take constant memory; files of other formats are
// read whole first. Next is for one goroutine, the rest for any.
type Stream struct {
	name      string
	format    string
	next      func() (Record, error)
	reference func() format.Reference
	notes     func() geo.Notes
	close     func() error
}

// Record is one feature on its way, not yet decoded.
type Record struct {
	Number int // from 1
	Bytes  int // as the file has them, roughly
	decode func() (format.Feature, geo.Notes, error)
}

// Decode reads the feature. It may be called once, from any goroutine.
func (r Record) Decode() (format.Feature, geo.Notes, error) { return r.decode() }

// Name is the file as the user named it.
func (s *Stream) Name() string { return s.name }

// Format is the file's format.
func (s *Stream) Format() string { return s.format }

// Next is the next feature, or io.EOF.
func (s *Stream) Next() (Record, error) { return s.next() }

// Reference is the file's reference system as far as it has been read.
func (s *Stream) Reference() format.Reference { return s.reference() }

// Notes are those about the file, complete at its end.
func (s *Stream) Notes() geo.Notes { return s.notes() }

// Close closes the file.
func (s *Stream) Close() error { return s.close() }

// OpenStream opens a file of outlines.
func OpenStream(src Source, opt Options) (*Stream, error) {
	info, err := fs.Stat(src.FS, src.Path)
	if err != nil {
		return nil, src.cannot(err)
	}
	kind := kindOther
	if !info.IsDir() {
		f, err := src.open()
		if err != nil {
			return nil, err
		}
		if kind = sniff(src.Path, f.head); kind == kindZip && zipHas(f, ".shp") {
			f.Close()
			return shapes(src.as(".zip"), opt)
		}
		if kind == kindJSON || f.size == 0 {
			s := Features(src.Shown(), f.whole())
			s.close = f.Close
			return s, nil
		}
		f.Close()
	}
	switch kind {
	case kindShapefile:
		return shapes(src.as(".shp"), opt)
	case kindShapePart:
		return shapes(src, opt)
	}
	file, err := Read(src, opt)
	if err != nil {
		return nil, err
	}
	return held(file), nil
}

// Features is a stream of GeoJSON from a reader.
func Features(name string, r io.Reader) *Stream {
	s := geojson.NewStream(name, r)
	return &Stream{
		name: name, format: format.GeoJSON, reference: s.Reference, notes: s.Notes, close: func() error { return nil },
		next: func() (Record, error) {
			raw, err := s.Next()
			return Record{raw.Number, len(raw.Bytes), func() (format.Feature, geo.Notes, error) { return s.Decode(raw) }}, err
		},
	}
}

func shapes(src Source, opt Options) (*Stream, error) {
	s, err := shapefile.Open(src.FS, src.Path, src.Shown(), shapefile.Options{Layer: opt.Layer})
	if err != nil {
		return nil, err
	}
	return &Stream{
		name: s.Name(), format: "Shapefile", reference: s.Reference, notes: s.Notes, close: s.Close,
		next: func() (Record, error) {
			raw, err := s.Next()
			return Record{raw.Number, len(raw.Shape) + len(raw.Row), func() (format.Feature, geo.Notes, error) { return s.Decode(raw) }}, err
		},
	}, nil
}

// held is a stream over a file in memory.
func held(file format.File) *Stream {
	at := 0
	return &Stream{
		name: file.Name, format: file.Format, close: func() error { return nil },
		reference: func() format.Reference { return file.Reference },
		notes:     func() geo.Notes { return file.Notes },
		next: func() (Record, error) {
			if at == len(file.Features) {
				return Record{}, io.EOF
			}
			f := file.Features[at]
			at++
			return Record{at, heldBytes, func() (format.Feature, geo.Notes, error) { return f, nil, nil }}, nil
		},
	}
}

// heldBytes stands for the size of a feature whose text is gone: that of an
// outline of forty corners.
const heldBytes = 1 << 10

// IsRaster reports whether a source is a grid of heights, which has no
// features to read.
func IsRaster(src Source) bool {
	f, err := src.open()
	if err != nil {
		return false
	}
	defer f.Close()
	k := sniff(src.Path, f.head)
	return k == kindTIFF || k == kindASCIIGrid
}
