package textgrid

import (
	"errors"
	"fmt"
	"io"
	"math"
	"sync"

	"hemrow/geo"
	"hemrow/geo/format"
)

// ErrScattered says that the points of a file lie on no regular grid.
var ErrScattered = errors.New("the points lie on no regular grid")

// maxCells is how many cells one window may have: 800 MB in memory.
const maxCells = 100_000_000

// Raster is a text file of heights. Windows may be read from several
// goroutines at once.
type Raster struct {
	in     input
	head   format.File
	layout format.Layout
	cells  cells
	mu     sync.Mutex // guards cells
}

// cells reads the heights of a window, which is whole NaN, into it.
type cells interface {
	read(col0, row0 int, g *format.Grid) error
}

// input is the bytes of a file.
type input struct {
	name string
	r    io.ReaderAt
	size int64
}

var _ format.Raster = (*Raster)(nil)

// Head describes the file; it has no features.
func (r *Raster) Head() format.File { return r.head }

// SetReference says in which system the file's coordinates are, as told by a
// file beside it or by the user. It must not run beside other methods.
func (r *Raster) SetReference(ref format.Reference) { r.head.Reference = ref }

// Layout says where the centres of the cells lie, in the file's coordinates.
func (r *Raster) Layout() format.Layout { return r.layout }

// HeightUnitM is 0: text grids do not say their unit of height.
func (r *Raster) HeightUnitM() float64 { return 0 } //unit:metres

// Window reads the cells with col0 <= col < col1 and row0 <= row < row1, at most
// a hundred million; NaN where there is no height. A window that is empty or
// leaves the raster is an error, and so is text that is no number in the rows
// read, and a count of numbers that is not that of the header.
func (r *Raster) Window(col0, row0, col1, row1 int) (format.Grid, error) {
	l := r.layout
	if col0 < 0 || row0 < 0 || col1 > l.Cols || row1 > l.Rows || col0 >= col1 || row0 >= row1 {
		return format.Grid{}, r.in.fail(0, "", "the window of columns %d to %d and rows %d to %d is empty or leaves the raster of %d x %d cells",
			col0, col1, row0, row1, l.Cols, l.Rows)
	}
	if cols, rows := col1-col0, row1-row0; cols > maxCells/rows {
		return format.Grid{}, r.in.fail(0, "read a smaller part of the ground, or make the cells larger: gdalwarp -tr 1 1 -r average in out",
			"the window has %d x %d cells; at most %d million are read at once", cols, rows, maxCells/1_000_000)
	}
	g := format.Grid{Layout: l}
	g.Cols, g.Rows = col1-col0, row1-row0
	g.OriginX += float64(col0) * l.ColX // rows run straight down
	g.OriginY += float64(row0) * l.RowY
	g.Heights = make([]float64, g.Cols*g.Rows)
	for i := range g.Heights {
		g.Heights[i] = math.NaN()
	}
	r.mu.Lock()
	defer r.mu.Unlock()
	if err := r.cells.read(col0, row0, &g); err != nil {
		return format.Grid{}, err
	}
	return g, nil
}

// fail is an error in the file, in a line if that is not 0.
func (in *input) fail(line int, hint, problem string, args ...any) error {
	return &geo.InputError{File: in.name, Line: line, Problem: fmt.Sprintf(problem, args...), Hint: hint}
}
