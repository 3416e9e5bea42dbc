package format

// Layout says how the cells of a raster lie: cell (col, row), counted from 0
// at the file's first cell, has its centre at
//
//	X = OriginX + col*ColX + row*RowX
//	Y = OriginY + col*ColY + row*RowY
//
// in the file's own coordinates. Readers have turned cell-corner conventions
// into centres.
type Layout struct {
	Cols, Rows       int
	OriginX, OriginY float64 //unit:the file's
	ColX, ColY       float64 //unit:the file's
	RowX, RowY       float64 //unit:the file's
}

// Raster is a file of heights whose header is read and whose cells are not.
type Raster interface {
	// Head describes the file; Features of the File are empty.
	Head() File
	Layout() Layout
	// HeightUnitM is the size of the file's unit of height in metres; 0 when
	// the file does not say.
	HeightUnitM() float64 //unit:metres
	// Window reads the cells with col0 <= col < col1 and row0 <= row < row1.
	Window(col0, row0, col1, row1 int) (Grid, error)
}

// Grid is a window of a raster in memory.
type Grid struct {
	Layout // of the window
	// Heights are row by row, as the file writes them (no unit applied); NaN
	// where the file has none.
	Heights []float64 //unit:the file's
}
