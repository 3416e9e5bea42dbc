package geotiff

import (
	"bufio"
	"fmt"
	"io"
	"sync"

	"hemrow/geo"
	"hemrow/geo/format"
)

// formatName is the format in [format.File].
const formatName = "GeoTIFF"

// maxCells is how many cells one window may have: 800 MB in memory.
const maxCells = 100_000_000

// Raster is a GeoTIFF whose header is read. Its methods may be called from
// several goroutines at once.
type Raster struct {
	src         *source
	head        format.File
	layout      format.Layout
	heightUnitM float64
	image       image
	scale       scale

	mu     sync.Mutex // guards what is below
	kept   []held     // latest first
	buffer *bufio.Reader
	zlib   io.ReadCloser
	lzw    *lzwTable
}

var _ format.Raster = (*Raster)(nil)

// Open reads the header of a GeoTIFF of size bytes. name is the file as the
// user named it. The reader must stay open as long as windows are read.
//
// Errors are [geo.InputError] and say what is damaged or not read, and the
// command that turns it into what is; errors of the reader itself are passed
// on. Nothing is allocated beyond a small part of the file.
func Open(name string, in io.ReaderAt, size int64) (*Raster, error) {
	r := &Raster{src: &source{name: name, r: in, size: max(size, 0)}}
	first, err := r.src.open()
	if err != nil {
		return nil, err
	}
	d, masked, err := r.src.find(first)
	if err != nil {
		return nil, err
	}
	if r.image, err = d.describe(); err != nil {
		return nil, err
	}
	r.head = format.File{Name: name, Format: formatName}
	keys, err := d.geoKeys()
	if err != nil {
		return nil, err
	}
	if r.head.Reference, err = keys.reference(); err != nil {
		return nil, err
	}
	if r.layout, err = d.layout(&r.image, keys.point()); err != nil {
		return nil, err
	}
	if err := r.heights(&d, keys); err != nil {
		return nil, err
	}
	if masked {
		r.note(geo.NoteMaskLeft, geo.Caution, "the file has a mask of valid cells, which is not read: every cell counts",
			"if cells without height were masked, write them as nodata")
	}
	return r, nil
}

// Head describes the file; it has no features.
func (r *Raster) Head() format.File { return r.head }

// Layout says where the centres of the cells lie, in the file's coordinates.
func (r *Raster) Layout() format.Layout { return r.layout }

// HeightUnitM is the unit of the heights in metres: the GeoKeys' vertical unit
// or system, else the band's unit; 0 when the file says nothing, or two things.
func (r *Raster) HeightUnitM() float64 { return r.heightUnitM }

// Window reads the cells with col0 <= col < col1 and row0 <= row < row1, at most
// a hundred million. Only the strips and tiles it touches are read. Heights are
// in the file's unit, NaN where there is none. An empty window, one that leaves
// the raster and damaged blocks are errors.
func (r *Raster) Window(col0, row0, col1, row1 int) (format.Grid, error) {
	g, err := r.emptyWindow(col0, row0, col1, row1)
	if err != nil {
		return format.Grid{}, err
	}
	r.mu.Lock()
	defer r.mu.Unlock()
	width, height := int(r.image.block.width), int(r.image.block.height)
	for by := row0 / height; by*height < row1; by++ {
		for bx := col0 / width; bx*width < col1; bx++ {
			x0, y0 := max(col0, bx*width), max(row0, by*height)
			p := part{
				number: uint64(by)*r.image.across + uint64(bx),
				col0:   x0 - bx*width, cols: min(col1, (bx+1)*width) - x0,
				row0: y0 - by*height, rows: min(row1, (by+1)*height) - y0,
			}
			if err := r.read(p, &g, x0-col0, y0-row0); err != nil {
				return format.Grid{}, err
			}
		}
	}
	r.scale.apply(g.Heights)
	return g, nil
}

// emptyWindow is a window with its cells placed and not read.
func (r *Raster) emptyWindow(col0, row0, col1, row1 int) (g format.Grid, err error) {
	l := r.layout
	if col0 < 0 || row0 < 0 || col1 > l.Cols || row1 > l.Rows || col0 >= col1 || row0 >= row1 {
		return g, r.src.fail("", "the window of columns %d to %d and rows %d to %d is empty or leaves the raster of %d x %d cells",
			col0, col1, row0, row1, l.Cols, l.Rows)
	}
	if cols, rows := col1-col0, row1-row0; cols > maxCells/rows {
		return g, r.src.fail("read a smaller part of the ground, or make the cells larger: gdalwarp -tr 1 1 -r average in.tif out.tif",
			"the window has %d x %d cells; at most %d million are read at once", cols, rows, maxCells/1_000_000)
	}
	c, w := float64(col0), float64(row0)
	g.Layout = l
	g.Cols, g.Rows = col1-col0, row1-row0
	g.OriginX += c*l.ColX + w*l.RowX
	g.OriginY += c*l.ColY + w*l.RowY
	g.Heights = make([]float64, g.Cols*g.Rows)
	return g, nil
}

// find is the first image of full resolution, and whether there is a mask. Past
// that image, damage in the chain of directories is of no concern.
func (s *source) find(off uint64) (found directory, masked bool, err error) {
	seen := map[uint64]bool{}
	for range maxDirectories {
		if off == 0 || seen[off] {
			break
		}
		seen[off] = true
		d, err := s.directoryAt(off)
		var kind, old uint64
		if err == nil {
			err = d.numbers(wanted{tagNewSubfile, 0, &kind}, wanted{tagOldSubfile, 0, &old})
		}
		if err != nil && found.src == nil {
			return found, false, err
		}
		if err != nil {
			break
		}
		const reduced, mask, oldReduced = 1, 4, 2 // TIFF 6.0 section 8
		masked = masked || kind&mask != 0
		if found.src == nil && kind&(reduced|mask) == 0 && old != oldReduced {
			found = d
		}
		off = d.next
	}
	if found.src == nil {
		return found, false, s.fail(hintCut, "the file holds no image of full resolution")
	}
	return found, masked, nil
}

// heights reads what turns stored numbers into heights.
func (r *Raster) heights(d *directory, keys *geoKeys) (err error) {
	var unit string
	if r.scale, unit, err = d.metadata(); err != nil {
		return err
	}
	if err := r.unit(keys, unit); err != nil {
		return err
	}
	if r.image.bands > 1 {
		r.note(geo.NoteExtraNumber, geo.Caution, fmt.Sprintf("each cell has %d values; the first is taken as the height", r.image.bands),
			"pick the band of heights: gdal_translate -b n in.tif out.tif")
	}
	if !r.scale.plain() {
		r.note(geo.NoteHeightScaled, geo.Info, fmt.Sprintf("heights are the stored numbers times %g plus %g, as the file says",
			r.scale.factor, r.scale.offset), "")
	}
	if d.has(tagNoData) {
		r.scale.none, err = d.noData(r.image.sample)
		return err
	}
	if r.image.sample.format != formatUnsigned {
		r.scale.none = format.NoHeight
		r.note(geo.NoteHeightMissing, geo.Info, "the file names no number for cells without height; -9999 and numbers beyond 1e30 are taken for it", "")
	}
	return nil
}

// unit finds the unit of height by the GeoKeys and by the band's own name.
func (r *Raster) unit(keys *geoKeys, band string) (err error) {
	if r.heightUnitM, err = keys.heightUnitM(); err != nil {
		return err
	}
	named := namedUnitM(band)
	switch {
	case named == 0:
	case r.heightUnitM == 0:
		r.heightUnitM = named
	case named != r.heightUnitM:
		r.note(geo.NoteHeightUnit, geo.Caution, fmt.Sprintf("the file says two things of its unit of height: %g m, and %q", r.heightUnitM, band),
			"find out which it is and give it")
		r.heightUnitM = 0
	}
	return nil
}

func (r *Raster) note(code geo.Code, severity geo.Severity, text, hint string) {
	r.head.Notes = append(r.head.Notes, geo.Note{Code: code, Severity: severity, Place: r.src.name, Text: text, Hint: hint})
}
