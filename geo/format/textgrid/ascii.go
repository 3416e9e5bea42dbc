package textgrid

import (
	"io"
	"math"
	"strings"

	"hemrow/geo"
	"hemrow/geo/format"
)

// defaultNoData is the number for no height when the header names none (ESRI
// ASCII raster format, ArcGIS documentation).
const defaultNoData = -9999

// ascii is the cells of an ESRI ASCII grid.
type ascii struct {
	in     *input
	cols   int
	rows   int
	from   int64 // of the first number
	noData float64
	// starts is where each row begins, nil until the file was passed through.
	starts []int64
}

// header is the header's numbers by key, in lower case.
type header map[string]float64

// keys of the header; yes where the number must be whole and positive.
var headerKeys = map[string]bool{
	"ncols": true, "nrows": true, "xllcorner": false, "yllcorner": false, "xllcenter": false, "yllcenter": false,
	"cellsize": false, "dx": false, "dy": false, "nodata_value": false, "nodata": false,
}

// OpenASCII reads the header of an ESRI ASCII grid of size bytes. Keys may
// stand in any order and case; the lower left corner or the centre of the
// lower left cell is given, and cellsize or dx and dy. name is the file as the
// user named it; the reader must stay open as long as windows are read.
//
// Errors are [geo.InputError]; those of the reader are passed on.
func OpenASCII(name string, in io.ReaderAt, size int64) (*Raster, error) {
	r := &Raster{in: input{name, in, max(size, 0)}}
	r.head = format.File{Name: name, Format: "ESRI ASCII grid"}
	w := r.in.words(r.bom())
	h, from, err := w.header()
	if err != nil {
		return nil, err
	}
	if r.layout, err = h.layout(&r.in); err != nil {
		return nil, err
	}
	// Every number but the last needs a digit and a blank.
	if need := int64(r.layout.Cols) * int64(r.layout.Rows); need > (size-from+1)/2 {
		return nil, r.in.fail(0, "the file is cut short; copy or download it again",
			"the header tells of %d x %d cells, more than the %d bytes after it can hold", r.layout.Cols, r.layout.Rows, size-from)
	}
	noData, ok := h["nodata_value"]
	if !ok {
		noData, ok = h["nodata"]
	}
	if !ok {
		noData = defaultNoData
		r.note(geo.NoteHeightMissing, "the file names no number for cells without height; -9999 is taken for it")
	}
	r.cells = &ascii{in: &r.in, cols: r.layout.Cols, rows: r.layout.Rows, from: from, noData: noData}
	return r, nil
}

// bom passes over a byte order mark and returns where the text begins.
func (r *Raster) bom() int64 {
	const mark = "\xEF\xBB\xBF"
	var b [len(mark)]byte
	if n, _ := r.in.r.ReadAt(b[:], 0); n == len(mark) && string(b[:]) == mark && r.in.size >= int64(n) {
		r.note(geo.NoteByteMark, "a byte order mark at the beginning was passed over")
		return int64(n)
	}
	return 0
}

func (r *Raster) note(code geo.Code, text string) {
	r.head.Notes = append(r.head.Notes, geo.Note{Code: code, Severity: geo.Info, Place: r.in.name, Text: text})
}

// header reads pairs of key and number up to the first word that is a number,
// whose place is from.
func (w *words) header() (h header, from int64, err error) {
	h = header{}
	for {
		if !w.start() {
			return h, w.offset(), w.err
		}
		from = w.offset()
		key, err := w.next()
		if err != nil || looksNumber(key) {
			return h, from, err
		}
		name := strings.ToLower(string(key))
		whole, known := headerKeys[name]
		_, twice := h[name]
		if !known {
			return h, from, w.in.fail(0, "export the heights as ESRI ASCII grid or GeoTIFF", "%.40q is no key of an ESRI ASCII grid", name)
		}
		if twice {
			return h, from, w.in.fail(0, "take one of them out", "%s stands twice in the header", name)
		}
		value, err := w.next()
		if err != nil {
			return h, from, err
		}
		v, _, ok := number(value)
		if !ok || math.IsInf(v, 0) || math.IsNaN(v) && !strings.HasPrefix(name, "nodata") {
			return h, from, w.in.fail(0, "", "%s is %.40q, which is no number", name, value)
		}
		if whole && (v < 1 || v != math.Trunc(v) || v > math.MaxInt32) {
			return h, from, w.in.fail(0, "", "%s is %s; it must be a whole number from 1 on", name, value)
		}
		h[name] = v
	}
}

// layout places the cells: rows run from north to south.
//
//	o o o   first row
//	o o o
//	^ xllcenter, yllcenter; xllcorner, yllcorner half a cell left and below
func (h header) layout(in *input) (l format.Layout, err error) {
	missing := ""
	pick := func(names ...string) (float64, string) {
		for _, n := range names {
			if v, ok := h[n]; ok {
				return v, n
			}
		}
		if missing == "" {
			missing = strings.Join(names, " or ")
		}
		return 0, ""
	}
	cols, _ := pick("ncols")
	rows, _ := pick("nrows")
	dx, _ := pick("dx", "cellsize")
	dy, _ := pick("dy", "cellsize")
	x, atX := pick("xllcenter", "xllcorner")
	y, atY := pick("yllcenter", "yllcorner")
	if missing != "" {
		return l, in.fail(0, "export the heights again as ESRI ASCII grid or GeoTIFF", "the header has no %s", missing)
	}
	if atX == "xllcorner" {
		x += dx / 2
	}
	if atY == "yllcorner" {
		y += dy / 2
	}
	l = format.Layout{Cols: int(cols), Rows: int(rows), OriginX: x, OriginY: y + (rows-1)*dy, ColX: dx, RowY: -dy}
	if !(dx > 0) || !(dy > 0) || math.IsInf(l.OriginX+cols*dx, 0) || math.IsInf(l.OriginY, 0) {
		return l, in.fail(0, "", "the cells are %g x %g large", dx, dy)
	}
	return l, nil
}

func (a *ascii) read(col0, row0 int, g *format.Grid) error {
	w := a.in.words(a.from)
	if a.starts == nil {
		if err := a.index(w); err != nil {
			return err
		}
	}
	for row := range g.Rows {
		w.seek(a.starts[row0+row])
		if w.skip(col0) < col0 {
			return a.changed(w)
		}
		line := g.Heights[row*g.Cols : (row+1)*g.Cols]
		for col := range line {
			word, err := w.next()
			if err != nil {
				return err
			}
			v, _, ok := number(word)
			if !ok {
				return a.noNumber(row0+row, col0+col, word)
			}
			if v != a.noData && math.Abs(v) <= format.TooHigh {
				line[col] = v
			}
		}
	}
	return w.err
}

func (a *ascii) noNumber(row, col int, word []byte) error {
	return a.in.fail(0, "the file is damaged; export it again", "row %d, column %d: %.40q is no number", row+1, col+1, word)
}

func (a *ascii) changed(w *words) error {
	if w.err != nil {
		return w.err
	}
	return a.in.fail(0, "", "the file became shorter while it was read")
}

// index passes through the file: it must hold as many words as the header
// tells, or rows would be read shifted.
func (a *ascii) index(w *words) error {
	starts := make([]int64, 0, a.rows)
	count := 0
	for range a.rows {
		if !w.start() {
			break
		}
		starts = append(starts, w.offset())
		n := w.skip(a.cols)
		count += n
		if n < a.cols {
			break
		}
	}
	extra := w.skip(math.MaxInt)
	if w.err != nil {
		return w.err
	}
	if need := a.cols * a.rows; count < need || extra > 0 {
		return a.in.fail(0, "the file is damaged or cut short; copy or export it again",
			"the file holds %d numbers; %d columns and %d rows need %d", count+extra, a.cols, a.rows, need)
	}
	a.starts = starts
	return nil
}
