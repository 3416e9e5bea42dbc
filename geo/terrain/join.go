package terrain

import (
	"errors"
	"fmt"
	"math"
	"reflect"

	"hemrow/geo"
	"hemrow/geo/format"
)

// joined is several rasters of one grid as one.
type joined struct {
	tiles  []format.Raster
	at     [][2]int // column and row of each tile's first cell
	layout format.Layout
}

// Join makes one raster of tiles that lie on one grid, as survey offices
// deliver them: same reference system, same cells. Where tiles overlap, the
// first that has a height counts; where none lies, there is none.
//
// Tiles that do not fit are refused by name, and so is a list without any.
func Join(tiles []format.Raster) (format.Raster, error) {
	if len(tiles) == 0 {
		return nil, errors.New("terrain: no tiles to join; give one at least")
	}
	base := tiles[0].Layout()
	j := &joined{tiles: tiles, layout: base}
	c0, r0, c1, r1 := 0, 0, base.Cols, base.Rows
	for _, t := range tiles {
		col, row, err := place(tiles[0], t)
		if err != nil {
			return nil, err
		}
		j.at = append(j.at, [2]int{col, row})
		l := t.Layout()
		c0, r0 = min(c0, col), min(r0, row)
		c1, r1 = max(c1, col+l.Cols), max(r1, row+l.Rows)
	}
	for i := range j.at {
		j.at[i][0] -= c0
		j.at[i][1] -= r0
	}
	l := &j.layout
	l.OriginX += float64(c0)*l.ColX + float64(r0)*l.RowX
	l.OriginY += float64(c0)*l.ColY + float64(r0)*l.RowY
	l.Cols, l.Rows = c1-c0, r1-r0
	return j, nil
}

// mostTiles bounds how far tiles may lie apart, in cells: more than any
// country at 1 m.
const mostTiles = 1 << 24

// latticeRatio is how far a tile may lie off the grid of the first, in cells:
// origins are written with some nine digits, in which a cell of 1 m at 5000 km
// is placed to a centimetre.
const latticeRatio = 0.01

// place is the column and row of b's first cell in the grid of a.
func place(a, b format.Raster) (col, row int, err error) {
	la, lb := a.Layout(), b.Layout()
	bad := func(what string, args ...any) error {
		return &geo.InputError{
			File: b.Head().Name, Problem: fmt.Sprintf("does not lie on one grid with %s: %s", a.Head().Name, fmt.Sprintf(what, args...)),
			Hint: "give one grid, or join them first: gdalwarp first.tif second.tif joined.tif",
		}
	}
	ra, rb := a.Head().Reference, b.Head().Reference
	if ra.Code != rb.Code || ra.WKT != rb.WKT || ra.WGS84 != rb.WGS84 || !reflect.DeepEqual(ra.Definition, rb.Definition) {
		return 0, 0, bad("its reference system is another one")
	}
	if a.HeightUnitM() != b.HeightUnitM() {
		return 0, 0, &geo.InputError{
			File: b.Head().Name, Problem: fmt.Sprintf("its heights are in another unit than those of %s", a.Head().Name),
			Hint: "bring one to the other's unit, for example from feet to metres: gdal_translate -a_scale 0.3048 feet.tif metres.tif",
		}
	}
	size := math.Max(math.Hypot(la.ColX, la.ColY), math.Hypot(la.RowX, la.RowY))
	for _, d := range [...]float64{lb.ColX - la.ColX, lb.ColY - la.ColY, lb.RowX - la.RowX, lb.RowY - la.RowY} {
		if math.Abs(d)*float64(max(lb.Cols, lb.Rows)) > latticeRatio*size {
			return 0, 0, bad("its cells are of another size")
		}
	}
	dx, dy := lb.OriginX-la.OriginX, lb.OriginY-la.OriginY
	det := la.ColX*la.RowY - la.ColY*la.RowX
	c, r := (dx*la.RowY-dy*la.RowX)/det, (la.ColX*dy-la.ColY*dx)/det
	if !(math.Abs(c) < mostTiles && math.Abs(r) < mostTiles) {
		return 0, 0, bad("it lies too far away")
	}
	if math.Abs(c-math.Round(c)) > latticeRatio || math.Abs(r-math.Round(r)) > latticeRatio {
		return 0, 0, bad("its cells lie between the others")
	}
	return int(math.Round(c)), int(math.Round(r)), nil
}

// Head is that of the first tile.
func (j *joined) Head() format.File { return j.tiles[0].Head() }

// Layout spans all tiles.
func (j *joined) Layout() format.Layout { return j.layout }

// HeightUnitM is that of all tiles.
func (j *joined) HeightUnitM() float64 { return j.tiles[0].HeightUnitM() } //unit:metres

// Window reads from every tile that it touches.
func (j *joined) Window(col0, row0, col1, row1 int) (format.Grid, error) {
	g := format.Grid{Layout: j.layout}
	g.Cols, g.Rows = col1-col0, row1-row0
	g.OriginX += float64(col0)*g.ColX + float64(row0)*g.RowX
	g.OriginY += float64(col0)*g.ColY + float64(row0)*g.RowY
	g.Heights = make([]float64, g.Cols*g.Rows)
	for i := range g.Heights {
		g.Heights[i] = math.NaN()
	}
	for i, t := range j.tiles {
		l, at := t.Layout(), j.at[i]
		c0, r0 := max(col0, at[0]), max(row0, at[1])
		c1, r1 := min(col1, at[0]+l.Cols), min(row1, at[1]+l.Rows)
		if c0 >= c1 || r0 >= r1 {
			continue
		}
		w, err := t.Window(c0-at[0], r0-at[1], c1-at[0], r1-at[1])
		if err != nil {
			return format.Grid{}, err
		}
		for r := range w.Rows {
			out := g.Heights[(r0-row0+r)*g.Cols+c0-col0:]
			for c, h := range w.Heights[r*w.Cols : (r+1)*w.Cols] {
				if math.IsNaN(out[c]) {
					out[c] = h
				}
			}
		}
	}
	return g, nil
}
