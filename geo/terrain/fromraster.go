package terrain

import (
	"errors"
	"fmt"
	"math"

	"github.com/paulmach/orb"

	"hemrow/geo"
	"hemrow/geo/crs"
	"hemrow/geo/format"
)

// GridOptions says how a raster becomes a surface; the zero value is a good
// start.
type GridOptions struct {
	Method Method
	// HeightUnitM is the size of the unit of heights in metres; it goes before
	// what the file says. 0 leaves it to the file.
	HeightUnitM float64
}

const (
	// lowestZM and highestZM bound land: the shore of the Dead Sea lies at
	// -430 m, the highest peak at 8849 m (from memory). Anything else is a
	// mark for "no height" that the file did not declare.
	lowestZM, highestZM = -500.0, 9000.0

	// mostCells bounds the window read into memory, 0.2 GB: a field 2.5 km
	// across in cells of half a metre.
	mostCells = 25_000_000

	// windowMargin is how many cells beyond the field are read: two for the
	// cubic blend and one for rounding.
	windowMargin = 3
)

var errOffSystem = errors.New("the field lies outside the area of its coordinate system")

// FromRaster makes a surface of the part of a raster around a box of the frame
// (in metres): that window is read and no more. sys is the system of the
// raster's coordinates. Heights come out in metres.
//
// Accuracy: places are moved by at most geo.MapErrorM against the exact chain
// of projections; more, up to geo.SurveySnapM, is said in the note. Heights are those of the stated blend of the file's cells,
// to rounding; how well cells stand for the ground only the surveyor knows.
//
// It errs if the raster and the box do not overlap, saying how far apart they
// are, and if no height is known in the window. Assumed units and heights that
// no land has leave a note.
func FromRaster(r format.Raster, sys *crs.System, f geo.Frame, around orb.Bound, opt GridOptions) (*Grid, geo.Notes, error) {
	place := r.Head().Name
	fault := func(err error) (*Grid, geo.Notes, error) {
		var e *geo.InputError
		if errors.As(err, &e) {
			return nil, nil, err // the reader has said it all
		}
		return nil, nil, fmt.Errorf("%s: terrain: %w", place, err)
	}
	w, err := newWindow(r, sys, f, around)
	if err != nil {
		return fault(err)
	}
	cells, err := fitCells(w.cell, w.box, w.cellM)
	if err != nil {
		return fault(err)
	}
	data, err := r.Window(w.col0, w.row0, w.col1, w.row1)
	if err != nil {
		return fault(err)
	}
	cols, rows := w.col1-w.col0, w.row1-w.row0
	if len(data.Heights) != cols*rows {
		return fault(fmt.Errorf("%d heights were read for %d x %d cells", len(data.Heights), cols, rows))
	}
	last := &cells.c[(cells.degree+1)*(cells.degree+2)/2-1] // the constant term
	last[0] -= float64(w.col0)
	last[1] -= float64(w.row0)
	unitM, notes, err := heightUnit(r, opt, place)
	if err != nil {
		return fault(err)
	}
	z := data.Heights
	odd, known := inMetres(z, unitM)
	if known == 0 {
		return fault(errors.New("no height is known around the field"))
	}
	if odd > 0 {
		notes = append(notes, geo.Note{
			Code: geo.NoteHeightUnit, Severity: geo.Caution, Place: place,
			Text: fmt.Sprintf("%s below %.0f m or above %.0f m taken as unknown", geo.Counted(odd, "cell"), lowestZM, highestZM),
			Hint: "check the unit of heights and the file's mark for cells without data",
		})
	}
	g := &Grid{
		cells: cells, cols: cols, rows: rows, z: z, method: opt.Method,
		bound: w.box, spacingM: w.cellM, slack: geo.MapErrorM / w.cellM,
	}
	notes = append(notes, geo.Note{
		Code: geo.NoteTerrain, Place: place,
		Text: fmt.Sprintf("terrain read: %d x %d cells, %s, placed to %.1g mm", cols, rows, g.Describe(), max(0.1, 1000*cells.errM)),
	})
	return g, notes, nil
}

// heightUnit is the unit of heights: as asked, as the file says, or metres.
func heightUnit(r format.Raster, opt GridOptions, place string) (unitM float64, notes geo.Notes, err error) {
	switch u := opt.HeightUnitM; {
	case u > 0 && !math.IsInf(u, 1):
		return u, nil, nil
	case u != 0:
		return 0, nil, fmt.Errorf("the unit of heights is %g m; it must be positive", u)
	}
	switch u := r.HeightUnitM(); {
	case u > 0 && !math.IsInf(u, 1):
		return u, nil, nil
	case u != 0:
		return 0, nil, fmt.Errorf("the file's unit of heights is %g m", u)
	}
	return 1, geo.Notes{{
		Code: geo.NoteHeightUnit, Severity: geo.Caution, Place: place,
		Text: "the file does not say the unit of its heights; metres were taken",
		Hint: "name the unit of heights if it is feet",
	}}, nil
}

// inMetres applies the unit to heights, in place; odd counts heights that no
// land has.
func inMetres(z []float64, unitM float64) (odd, known int) {
	for i, h := range z {
		h *= unitM
		switch {
		case math.IsNaN(h):
		case h < lowestZM || h > highestZM:
			odd++
			h = math.NaN()
		default:
			known++
		}
		z[i] = h
	}
	return odd, known
}

// window is the part of a raster to read.
type window struct {
	layout     format.Layout
	sys        *crs.System
	frame      geo.Frame
	inverse    [4]float64 // of the layout's matrix
	turn       float64    // a full turn in the system's unit, 0 if projected
	midX       float64
	cellM      float64
	col0, row0 int
	col1, row1 int
	box        orb.Bound // in the frame, around the window's cells
}

func newWindow(r format.Raster, sys *crs.System, f geo.Frame, around orb.Bound) (*window, error) {
	l := r.Layout()
	det := l.ColX*l.RowY - l.ColY*l.RowX
	if l.Cols < 2 || l.Rows < 2 || det == 0 || math.IsNaN(det) || math.IsInf(det, 0) {
		return nil, fmt.Errorf("%d x %d cells make no surface", l.Cols, l.Rows)
	}
	w := &window{
		layout: l, sys: sys, frame: f,
		inverse: [4]float64{l.RowY / det, -l.RowX / det, -l.ColY / det, l.ColX / det},
	}
	c, r2 := float64(l.Cols-1)/2, float64(l.Rows-1)/2
	w.midX = l.OriginX + c*l.ColX + r2*l.RowX
	if sys.Geographic() {
		w.turn = 360 / sys.Definition().Base.AngleDeg
	}
	if err := w.measure(around.Center()); err != nil {
		return nil, err
	}
	if err := w.choose(around.Pad(windowMargin * w.cellM)); err != nil {
		return nil, err
	}
	return w, w.enclose()
}

// cell is the exact chain from the frame to a column and row.
func (w *window) cell(p orb.Point) (c orb.Point, ok bool) {
	xy, ok := w.sys.FromWGS84(w.frame.ToLonLat(p))
	if !ok {
		return c, false
	}
	if w.turn > 0 { // longitudes may be counted from another side
		xy.X += w.turn * math.Round((w.midX-xy.X)/w.turn)
	}
	dx, dy := xy.X-w.layout.OriginX, xy.Y-w.layout.OriginY
	c = orb.Point{w.inverse[0]*dx + w.inverse[1]*dy, w.inverse[2]*dx + w.inverse[3]*dy}
	return c, !math.IsNaN(c[0]+c[1]) && !math.IsInf(c[0]+c[1], 0)
}

// place is the chain the other way.
func (w *window) place(col, row float64) (p orb.Point, ok bool) {
	l := w.layout
	ll, ok := w.sys.ToWGS84(crs.XY{
		X: l.OriginX + col*l.ColX + row*l.RowX,
		Y: l.OriginY + col*l.ColY + row*l.RowY,
	})
	if !ok || !ll.Valid() {
		return p, false
	}
	return w.frame.ToLocal(ll), true
}

// measure finds the size of a cell on the ground near p: the side of a square
// of the same area.
func (w *window) measure(p orb.Point) error {
	const h = 1.0 // metres
	c, ok0 := w.cell(p)
	e, ok1 := w.cell(orb.Point{p[0] + h, p[1]})
	n, ok2 := w.cell(orb.Point{p[0], p[1] + h})
	per := math.Abs(cross(c, e, n)) // cells per m2
	if !ok0 || !ok1 || !ok2 || !(per > 0) {
		return errOffSystem
	}
	w.cellM = math.Sqrt(h * h / per)
	return nil
}

// choose sets the window over a box of the frame.
func (w *window) choose(box orb.Bound) error {
	lo, hi := orb.Point{math.Inf(1), math.Inf(1)}, orb.Point{math.Inf(-1), math.Inf(-1)}
	const steps = 8
	for i := range steps + 1 {
		for j := range steps + 1 {
			c, ok := w.cell(orb.Point{
				box.Min[0] + (box.Max[0]-box.Min[0])*float64(i)/steps,
				box.Min[1] + (box.Max[1]-box.Min[1])*float64(j)/steps,
			})
			if !ok {
				return errOffSystem
			}
			lo = orb.Point{min(lo[0], c[0]), min(lo[1], c[1])}
			hi = orb.Point{max(hi[0], c[0]), max(hi[1], c[1])}
		}
	}
	w.col0, w.col1 = clipCells(lo[0], hi[0], w.layout.Cols)
	w.row0, w.row1 = clipCells(lo[1], hi[1], w.layout.Rows)
	if w.col1-w.col0 < 2 || w.row1-w.row0 < 2 {
		gap := math.Hypot(
			max(0, -hi[0], lo[0]-float64(w.layout.Cols-1)),
			max(0, -hi[1], lo[1]-float64(w.layout.Rows-1)))
		return fmt.Errorf("it does not reach the field, which lies about %.0f m beyond its edge; check the file and its coordinate system", gap*w.cellM)
	}
	if n := (w.col1 - w.col0) * (w.row1 - w.row0); n > mostCells {
		return fmt.Errorf("%d x %d cells around the field are more than %d; thin the raster or plan a smaller area",
			w.col1-w.col0, w.row1-w.row0, mostCells)
	}
	return nil
}

// clipCells is the cells from lo to hi, half open, of n.
func clipCells(lo, hi float64, n int) (from, to int) {
	from = int(max(0, min(float64(n), math.Floor(lo))))
	to = int(max(0, min(float64(n), math.Ceil(hi)+1)))
	return from, to
}

// enclose sets the box of the frame around the window's cells.
func (w *window) enclose() error {
	const steps = 16
	var edge orb.MultiPoint
	c0, r0 := float64(w.col0), float64(w.row0)
	c1, r1 := float64(w.col1-1), float64(w.row1-1)
	for i := range steps + 1 {
		s := float64(i) / steps
		c, r := c0+s*(c1-c0), r0+s*(r1-r0)
		for _, q := range [4]orb.Point{{c, r0}, {c, r1}, {c0, r}, {c1, r}} {
			p, ok := w.place(q[0], q[1])
			if !ok {
				return errOffSystem
			}
			edge = append(edge, p)
		}
	}
	w.box = edge.Bound().Pad(w.cellM)
	return nil
}
