package textgrid

import (
	"bufio"
	"bytes"
	"errors"
	"fmt"
	"io"
	"math"
	"strings"

	"hemrow/geo"
	"hemrow/geo/format"
)

// xyz is the cells of a list of points.
type xyz struct {
	in     *input
	style  style
	layout format.Layout
}

// style is how the lines of a file are written.
type style struct {
	comma bool   // between numbers, with or without blanks
	order [3]int // places of X, Y and Z in a line
	skip  int    // lines before the first point
	bom   int64
}

// point is one line.
type point struct{ x, y, z float64 } //unit:the file's

// OpenXYZ passes through a list of points, one X Y Z to a line, and finds the
// grid they lie on. Lines may come in any order and cells may be missing.
// Between numbers stand blanks, semicolons, or commas when there are no
// others. One line of names may come first; names tell the order of X and Y.
// Lines that begin with # are passed over. -9999 is no height.
//
// Points on no regular grid, points in more than three columns and two points
// in one place are [ErrScattered]; other errors are [geo.InputError] or those of
// the reader.
func OpenXYZ(name string, in io.ReaderAt, size int64) (*Raster, error) {
	r := &Raster{in: input{name, in, max(size, 0)}}
	r.head = format.File{Name: name, Format: "XYZ grid"}
	c := &xyz{in: &r.in}
	c.style.bom = r.bom()
	names, err := c.look()
	if err != nil {
		return nil, err
	}
	if len(names) > 0 {
		o := c.style.order
		r.note(geo.NoteColumns, fmt.Sprintf("columns taken as X: %s, Y: %s, height: %s", names[o[0]], names[o[1]], names[o[2]]))
	}
	if r.layout, err = c.lattice(); err != nil {
		return nil, err
	}
	c.layout = r.layout
	if err := c.single(); err != nil {
		return nil, err
	}
	r.cells = c
	return r, nil
}

// errStop ends a pass early.
var errStop = errors.New("enough")

// lines calls use with each line that is not empty and no remark.
func (c *xyz) lines(use func(number int, line []byte) error) error {
	const longest = 4096 // of a line of three numbers and blanks
	in := bufio.NewReaderSize(io.NewSectionReader(c.in.r, c.style.bom, max(c.in.size-c.style.bom, 0)), chunk)
	for number := 1; ; number++ {
		line, err := in.ReadSlice('\n')
		if err != nil && !errors.Is(err, io.EOF) && !errors.Is(err, bufio.ErrBufferFull) {
			return fmt.Errorf("%s: line %d: %w", c.in.name, number, err)
		}
		if len(line) > longest {
			return c.in.fail(number, "", "a line of more than %d characters: this is no list of X, Y and Z", longest)
		}
		text := bytes.TrimSpace(line)
		if len(text) > 0 && text[0] != '#' {
			if err := use(number, text); err != nil {
				return err
			}
		}
		if err != nil {
			return nil
		}
	}
}

// points calls use with each point.
func (c *xyz) points(use func(number int, p point, decimals [3]int) error) error {
	var fields [3][]byte
	return c.lines(func(line int, text []byte) error {
		if line <= c.style.skip {
			return nil
		}
		n := c.style.cut(text, fields[:])
		if n > len(fields) {
			return c.in.fail(line, "", "%d numbers where the lines before have 3", n)
		}
		var v [3]float64
		var decimals [3]int
		for k, place := range c.style.order {
			var ok bool
			if place >= n {
				return c.in.fail(line, "", "%d numbers; X, Y and Z are needed", n)
			}
			v[k], decimals[k], ok = number(fields[place])
			if !ok || k < 2 && (math.IsNaN(v[k]) || math.IsInf(v[k], 0)) {
				return c.in.fail(line, "", "%.40q is no number", fields[place])
			}
		}
		return use(line, point{v[0], v[1], v[2]}, decimals)
	})
}

// cut puts the first fields of a line into out and returns how many there are.
func (s style) cut(line []byte, out [][]byte) (n int) {
	between := func(c byte) bool { return blank[c] || c == ';' || c == ',' && s.comma }
	for i := 0; i < len(line); {
		for i < len(line) && between(line[i]) {
			i++
		}
		from := i
		for i < len(line) && !between(line[i]) {
			i++
		}
		if i > from {
			if n < len(out) {
				out[n] = line[from:i]
			}
			n++
		}
	}
	return n
}

// look finds out how the lines are written, and the names of the columns if
// the file gives any.
func (c *xyz) look() (names []string, err error) {
	c.style.order = [3]int{0, 1, 2}
	found := false
	err = c.lines(func(number int, line []byte) error {
		var fields [3][]byte
		c.style.comma = bytes.IndexByte(line, ';') < 0 && style{}.cut(line, fields[:]) < 3 ||
			bytes.Contains(line, []byte(", ")) || bytes.Contains(line, []byte(",\t"))
		n := c.style.cut(line, fields[:])
		numbers := 0
		for _, f := range fields[:min(n, 3)] {
			if looksNumber(f) {
				numbers++
			}
		}
		switch {
		case n > 3:
			return fmt.Errorf("%s:%d: %w: it has %d columns, not 3", c.in.name, number, ErrScattered, n)
		case n < 3:
			return c.in.fail(number, "", "%d columns; X, Y and Z are needed", n)
		case numbers == 0 && names == nil:
			for _, f := range fields {
				names = append(names, strings.Trim(string(f), `"'`))
			}
			c.style.skip = number
			c.style.order = columns(names)
			return nil
		}
		found = true
		return errStop
	})
	if err != nil && !errors.Is(err, errStop) {
		return nil, err
	}
	if !found {
		return nil, c.in.fail(0, "", "the file holds no point")
	}
	return names, nil
}

// columns finds X and Y by their names in the languages and habits met; names
// unknown are in the order X, Y, Z (common practice, no source).
func columns(names []string) [3]int {
	kind := func(name string) int {
		switch strings.ToLower(name) {
		case "x", "e", "east", "easting", "eastings", "lon", "long", "longitude", "rechtswert":
			return 0
		case "y", "n", "north", "northing", "northings", "lat", "latitude", "hochwert":
			return 1
		case "z", "h", "height", "elev", "elevation", "alt", "altitude":
			return 2
		}
		return -1
	}
	out := [3]int{-1, -1, -1}
	for i, name := range names {
		if k := kind(name); k >= 0 {
			out[k] = i
		}
	}
	if out[0] < 0 || out[1] < 0 {
		return [3]int{0, 1, 2}
	}
	out[2] = 3 - out[0] - out[1]
	return out
}

// A grid has nearly one square with a point at each corner for each of its
// points, a strip two points wide a half; points set out in quincunx, or a
// handful of them, have none, and heights between them are for triangles.
// minWhole is the least number of such squares for each point, unless the points
// fill the grid but for fullFill.
const (
	minWhole = 0.25
	fullFill = 0.8
)

// single checks that no cell has two points, and that the points make squares.
func (c *xyz) single() error {
	seen := make([]uint64, (c.layout.Cols*c.layout.Rows+63)/64)
	has := func(at int) bool { return seen[at/64]>>(at%64)&1 != 0 }
	points := 0
	err := c.points(func(number int, p point, _ [3]int) error {
		at := c.cell(p)
		if has(at) {
			return fmt.Errorf("%s:%d: %w: there is a second point at (%g, %g)", c.in.name, number, ErrScattered, p.x, p.y)
		}
		seen[at/64] |= 1 << (at % 64)
		points++
		return nil
	})
	if err != nil {
		return err
	}
	whole, cols := 0, c.layout.Cols
	for row := 1; row < c.layout.Rows; row++ {
		for at := row*cols + 1; at < (row+1)*cols; at++ {
			if has(at) && has(at-1) && has(at-cols) && has(at-cols-1) {
				whole++
			}
		}
	}
	if float64(whole) < minWhole*float64(points) && float64(points) < fullFill*float64(cols*c.layout.Rows) {
		return fmt.Errorf("%s: %w: only %d of the squares between %d points have all their corners", c.in.name, ErrScattered, whole, points)
	}
	return nil
}

// cell is the number of the cell of p, counted row by row.
func (c *xyz) cell(p point) int {
	col := int(math.Round((p.x - c.layout.OriginX) / c.layout.ColX))
	row := int(math.Round((p.y - c.layout.OriginY) / c.layout.RowY))
	col, row = min(max(col, 0), c.layout.Cols-1), min(max(row, 0), c.layout.Rows-1)
	return row*c.layout.Cols + col
}

func (c *xyz) read(col0, row0 int, g *format.Grid) error {
	return c.points(func(_ int, p point, _ [3]int) error {
		at := c.cell(p)
		col, row := at%c.layout.Cols-col0, at/c.layout.Cols-row0
		if col >= 0 && row >= 0 && col < g.Cols && row < g.Rows && !format.IsNoHeight(p.z) {
			g.Heights[row*g.Cols+col] = p.z
		}
		return nil
	})
}
