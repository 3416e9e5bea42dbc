package delivery

import (
	"errors"
	"strconv"
	"strings"

	"hemrow/geo/format"
	"hemrow/geo/format/geotiff"
	"hemrow/geo/format/points"
	"hemrow/geo/format/textgrid"
)

// Terrain is a file of heights: a raster of which only the header was read, or
// points and lines with heights. Close it after use.
type Terrain struct {
	Raster format.Raster // nil for points and lines
	File   format.File   // the points and lines, or the head of the raster

	file *opened
}

// Close closes the file.
func (t *Terrain) Close() error {
	if t.file == nil {
		return nil
	}
	return t.file.Close()
}

// Heights opens a file of heights.
func Heights(src Source, opt Options) (*Terrain, error) {
	f, err := src.open()
	if err != nil {
		return points3D(src, opt) // a folder, perhaps
	}
	name := src.Shown()
	switch sniff(src.Path, f.head) {
	case kindTIFF:
		r, err := geotiff.Open(name, f.at, f.size)
		if err != nil {
			f.Close()
			return nil, err
		}
		return raster(src, f, r), nil
	case kindASCIIGrid:
		r, err := textgrid.OpenASCII(name, f.at, f.size)
		if err != nil {
			f.Close()
			return nil, err
		}
		return raster(src, f, r), nil
	case kindPoints:
		if opt.Columns == "" && plainNumbers(f.head) {
			r, err := textgrid.OpenXYZ(name, f.at, f.size)
			if err == nil {
				return raster(src, f, r), nil
			}
			if !errors.Is(err, textgrid.ErrScattered) {
				f.Close()
				return nil, err
			}
		}
		defer f.Close()
		file, err := points.Read(name, f.whole(), points.Options{Columns: opt.Columns})
		return &Terrain{File: withPRJ(src, file)}, err
	}
	f.Close()
	return points3D(src, opt)
}

// plainNumbers reports whether the first line is three numbers parted by blanks
// and nothing else, as in a grid of X Y Z; a list with a header or with commas
// is for the points reader, which knows columns.
func plainNumbers(head []byte) bool {
	line, _, _ := strings.Cut(decoded(head), "\n")
	fields := strings.Fields(line)
	for _, f := range fields {
		if _, err := strconv.ParseFloat(f, 64); err != nil {
			return false
		}
	}
	return len(fields) == 3
}

func points3D(src Source, opt Options) (*Terrain, error) {
	file, err := Read(src, opt)
	if err != nil {
		return nil, err
	}
	return &Terrain{File: file}, nil
}

// referenced is a raster that can be told its reference system.
type referenced interface {
	format.Raster
	SetReference(format.Reference)
}

func raster(src Source, f *opened, r format.Raster) *Terrain {
	if s, ok := r.(referenced); ok && r.Head().Reference.Silent() {
		head := withPRJ(src, r.Head())
		s.SetReference(head.Reference)
	}
	return &Terrain{Raster: r, File: r.Head(), file: f}
}
