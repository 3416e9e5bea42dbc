package field

import (
	"math"

	"hemrow/geo"
	"hemrow/geo/crs"
	"hemrow/geo/format"
)

// RasterReport is what a grid of heights holds, for people.
type RasterReport struct {
	System string
	Middle geo.LonLat
	// EastM and NorthM are the size of the grid, CellEastM and CellNorthM that
	// of a cell, all in the middle of it.
	EastM, NorthM         float64
	CellEastM, CellNorthM float64
	// LowestNo and HighestNo are the extreme heights among the cells looked at,
	// in the file's unit; KnownCount of SeenCount have one.
	LowestNo, HighestNo   float64
	KnownCount, SeenCount int
	Notes                 geo.Notes
}

// lookCells bounds how many cells of a grid are looked at for its range.
const lookCells = 9e6

// LookRaster reports on a grid of heights. A grid of more than nine million
// cells is looked at in its middle only.
func LookRaster(r format.Raster, spec Spec) (RasterReport, error) {
	head := r.Head()
	head.Features = corners(r.Layout())
	l := locator{file: &head, spec: spec}
	def, err := l.definition()
	if err != nil {
		return RasterReport{}, err
	}
	rep := RasterReport{System: head.Reference.Declared, Notes: l.notes}
	if def == nil {
		d, err := crs.ByCode(wgs84Code)
		if err != nil {
			return RasterReport{}, err
		}
		def = &d
	}
	rep.System = systemName(*def)
	first := head.Features[0].Points[0]
	sys, err := systemAt(def, crs.XY{X: first.X, Y: first.Y})
	if err != nil {
		return RasterReport{}, &geo.InputError{File: head.Name, Problem: "its reference system cannot be used: " + err.Error(), Hint: convertHint}
	}
	if err := turnedRaster(&head, sys); err != nil {
		return rep, err
	}
	if err := rep.place(r.Layout(), sys, head.Name); err != nil {
		return RasterReport{}, err
	}
	return rep, rep.look(r)
}

// place measures the grid in a frame at its middle.
func (rep *RasterReport) place(l format.Layout, sys *crs.System, name string) error {
	at := func(col, row float64) (geo.LonLat, bool) {
		return sys.ToWGS84(crs.XY{X: l.OriginX + col*l.ColX + row*l.RowX, Y: l.OriginY + col*l.ColY + row*l.RowY})
	}
	col, row := float64(l.Cols-1)/2, float64(l.Rows-1)/2
	mid, ok := at(col, row)
	f, okFrame := geo.NewFrame(mid)
	east, ok1 := at(col+1, row)
	north, ok2 := at(col, row+1)
	if !ok || !okFrame || !ok1 || !ok2 {
		return &geo.InputError{File: name, Problem: "its middle lies nowhere in its reference system", Hint: "name the right system with crs"}
	}
	p, q := f.ToLocal(east), f.ToLocal(north)
	rep.Middle = mid
	rep.CellEastM, rep.CellNorthM = math.Hypot(p[0], p[1]), math.Hypot(q[0], q[1])
	rep.EastM, rep.NorthM = rep.CellEastM*float64(l.Cols), rep.CellNorthM*float64(l.Rows)
	return nil
}

// look finds the range of the heights.
func (rep *RasterReport) look(r format.Raster) error {
	l := r.Layout()
	c0, c1, r0, r1 := 0, l.Cols, 0, l.Rows
	if float64(l.Cols)*float64(l.Rows) > lookCells {
		side := int(math.Sqrt(lookCells)) / 2
		c0, c1 = max(0, l.Cols/2-side), min(l.Cols, l.Cols/2+side)
		r0, r1 = max(0, l.Rows/2-side), min(l.Rows, l.Rows/2+side)
	}
	g, err := r.Window(c0, r0, c1, r1)
	if err != nil {
		return err
	}
	rep.SeenCount = len(g.Heights)
	rep.LowestNo, rep.HighestNo = math.Inf(1), math.Inf(-1)
	for _, h := range g.Heights {
		if h == h {
			rep.KnownCount++
			rep.LowestNo, rep.HighestNo = min(rep.LowestNo, h), max(rep.HighestNo, h)
		}
	}
	return nil
}
