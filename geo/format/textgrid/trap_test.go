package textgrid_test

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"hemrow/geo"
	"hemrow/geo/format"
	"hemrow/geo/format/textgrid"
)

// plain is a grid of 3 x 2 cells of 10 m:
//
//	1   2   3      centres (105 | 115 | 125, 215)
//	4   -   6              (105 | 115 | 125, 205)
const plain = "ncols 3\nnrows 2\nxllcorner 100\nyllcorner 200\ncellsize 10\nNODATA_value -9999\n1 2 3\n4 -9999 6\n"

var (
	none        = math.NaN()
	plainCells  = []float64{1, 2, 3, 4, none, 6}
	plainLayout = format.Layout{Cols: 3, Rows: 2, OriginX: 105, OriginY: 215, ColX: 10, RowY: -10}
)

func TestASCIIForms(t *testing.T) {
	swap := func(pairs ...string) string { return strings.NewReplacer(pairs...).Replace(plain) }
	header, numbers, _ := strings.Cut(plain, "1 2 3")
	numbers = "1 2 3" + numbers
	for name, in := range map[string]string{
		"as is":               plain,
		"centres":             swap("xllcorner 100", "xllcenter 105", "yllcorner 200", "yllcenter 205"),
		"one centre":          swap("yllcorner 200", "yllcenter 205"),
		"upper case":          strings.ToUpper(plain),
		"dx and dy":           swap("cellsize 10", "dx 10\ndy 10"),
		"another order":       "NODATA_value -9999\ncellsize 10\nyllcorner 200\nnrows 2\nncols 3\nxllcorner 100\n" + numbers,
		"one line":            strings.ReplaceAll(plain, "\n", " "),
		"a number to a line":  header + strings.ReplaceAll(numbers, " ", "\n"),
		"rows cut elsewhere":  header + "1 2\n3 4 -9999\n\n\n6",
		"carriage returns":    strings.ReplaceAll(plain, "\n", "\r\n"),
		"tabs":                strings.ReplaceAll(plain, " ", "\t"),
		"decimal commas":      swap("100", "100,0", "200", "2,00e2", "1 2 3", "1,0 2,00 3,", "-9999\n1", "-9999,00\n1"),
		"powers of ten":       swap("10\n", "1.0E+01\n", "-9999 6", "-9.999e3 6e0"),
		"lowest float":        swap("4 -9999 6", "4 -3.402823e+38 6"),
		"nan":                 swap("4 -9999 6", "4 nan 6"),
		"nan named":           swap("NODATA_value -9999", "NODATA_value nan", "4 -9999 6", "4 nan 6"),
		"another number":      swap("-9999", "0"),
		"no number named":     swap("NODATA_value -9999\n", ""),
		"short key of nodata": swap("NODATA_value", "nodata"),
		"byte order mark":     "\uFEFF" + plain,
	} {
		t.Run(name, func(t *testing.T) {
			r, err := openASCII(in)
			require.NoError(t, err)
			assert.Equal(t, plainLayout, r.Layout())
			requireSame(t, plainCells, whole(t, r))
			var want geo.Notes
			switch name {
			case "no number named":
				want = append(want, geo.Note{Code: geo.NoteHeightMissing})
			case "byte order mark":
				want = append(want, geo.Note{Code: geo.NoteByteMark})
			}
			require.Len(t, r.Head().Notes, len(want))
			for i, n := range r.Head().Notes {
				assert.Equal(t, want[i].Code, n.Code)
				assert.Equal(t, "x.asc", n.Place)
			}
		})
	}
}

func TestASCIIRefused(t *testing.T) {
	swap := func(from, to string) string { return strings.Replace(plain, from, to, 1) }
	for in, problem := range map[string]string{
		"":                                     "the header has no ncols",
		"1 2 3":                                "the header has no ncols",
		"<html>":                               `"<html>" is no key`,
		swap("ncols 3\n", ""):                  "no ncols",
		swap("cellsize 10\n", ""):              "no dx or cellsize",
		swap("xllcorner 100\n", ""):            "no xllcenter or xllcorner",
		swap("ncols 3", "ncols 3.5"):           "ncols is 3.5; it must be a whole number",
		swap("ncols 3", "ncols -3"):            "it must be a whole number",
		swap("ncols 3", "ncols many"):          `ncols is "many", which is no number`,
		swap("nrows 2", "nrows nan"):           "no number",
		swap("nrows 2", "nrows 2\nnrows 2"):    "nrows stands twice",
		swap("cellsize 10", "cellsize 0"):      "cells are 0 x 0",
		swap("cellsize 10", "cellsize -1"):     "cells are -1 x -1",
		swap("nrows 2", "nrows 9000"):          "more than the",
		swap("ncols 3", "ncols 2147483647"):    "more than the",
		swap("xllcorner 100", "xllcorner inf"): "no number",
		"ncols " + strings.Repeat("9", 2000):   "longer than 1024",
	} {
		_, err := openASCII(in)
		requireProblem(t, err, problem)
	}
	for in, problem := range map[string]string{
		swap("4 -9999 6", "4 -9999"):     "the file holds 5 numbers; 3 columns and 2 rows need 6",
		swap("4 -9999 6", "4 5 6 7"):     "the file holds 7 numbers",
		swap("4 -9999 6", "4 five 6"):    `row 2, column 2: "five" is no number`,
		swap("1 2 3", "1,2,3 4 5"):       `row 1, column 1: "1,2,3" is no number`,
		swap("6\n", "6\nxllcorner\n100"): "the file holds 8 numbers",
	} {
		r, err := openASCII(in)
		require.NoError(t, err)
		_, err = r.Window(0, 0, 3, 2)
		requireProblem(t, err, problem)
	}
}

func requireProblem(t *testing.T, err error, problem string) {
	t.Helper()
	var e *geo.InputError
	require.ErrorAs(t, err, &e)
	assert.NotEmpty(t, e.File)
	assert.Contains(t, e.Problem, problem)
}

// points are the lines of the plain grid.
var points = []string{"105 215 1", "115 215 2", "125 215 3", "105 205 4", "125 205 6"}

func TestXYZForms(t *testing.T) {
	rows := func(change func(x, y, z string) string) string {
		var b strings.Builder
		for _, p := range points {
			f := strings.Fields(p)
			b.WriteString(change(f[0], f[1], f[2]) + "\n")
		}
		return b.String()
	}
	join := func(sep string) func(x, y, z string) string {
		return func(x, y, z string) string { return x + sep + y + sep + z }
	}
	for name, in := range map[string]string{
		"as is":                    strings.Join(points, "\n"),
		"from the south":           strings.Join([]string{points[3], points[4], points[0], points[1], points[2]}, "\n"),
		"column by column":         strings.Join([]string{points[0], points[3], points[1], points[2], points[4]}, "\n"),
		"commas":                   rows(join(",")),
		"commas and blanks":        rows(join(", ")),
		"tabs":                     rows(join("\t")),
		"decimal commas":           rows(join(",0 ")),
		"semicolons":               rows(join(",00;")),
		"the hole written as none": rows(join(" ")) + "115 205 -9999\n",
		"the hole written as nan":  rows(join(" ")) + "115 205 nan\n",
		"blank lines and remarks":  "# heights\n\n" + strings.Join(points, "\n\n# more\n"),
		"carriage returns":         strings.Join(points, "\r\n"),
		"byte order mark":          "\uFEFF" + rows(join(" ")),
		"names":                    "X Y Z\n" + rows(join(" ")),
		"names turned":             "northing;easting;height\n" + rows(func(x, y, z string) string { return y + ";" + x + ";" + z }),
		"names unknown":            "a,b,c\n" + rows(join(",")),
		"names quoted":             `"lat","lon","elev"` + "\n" + rows(func(x, y, z string) string { return y + "," + x + "," + z }),
		"height first":             "z x y\n" + rows(func(x, y, z string) string { return z + " " + x + " " + y }),
	} {
		t.Run(name, func(t *testing.T) {
			r, err := openXYZ(in)
			require.NoError(t, err)
			assert.Equal(t, plainLayout, r.Layout())
			requireSame(t, plainCells, whole(t, r))
			assert.Equal(t, "XYZ grid", r.Head().Format)
			for _, n := range r.Head().Notes {
				if strings.HasPrefix(name, "names") || name == "height first" {
					assert.Equal(t, geo.NoteColumns, n.Code)
				} else {
					assert.Equal(t, geo.NoteByteMark, n.Code)
				}
			}
		})
	}
}

// Points in quincunx, or a handful of them, are for triangles.
func TestXYZThatIsNoGrid(t *testing.T) {
	var chess strings.Builder
	for row := range 20 {
		for col := range 20 {
			if (row+col)%2 == 0 {
				fmt.Fprintf(&chess, "%d %d 1\n", 10*col, 10*row)
			}
		}
	}
	for name, in := range map[string]string{
		"quincunx": chess.String(), "four corners and the middle": "0 0 1\n20 0 1\n0 20 1\n20 20 1\n10 10 2\n", "three": "0 0 1\n10 0 1\n0 10 1\n",
	} {
		_, err := openXYZ(in)
		require.ErrorIs(t, err, textgrid.ErrScattered, name)
	}
}

// Positions rounded in the file, as degrees are: the grid is drawn between the
// outermost points, so that no centre is off by more than the rounding.
func TestXYZRounded(t *testing.T) {
	const cols, rows, stepDeg = 120, 90, 1.0 / 10800 // a third of a second of arc
	var b strings.Builder
	for row := range rows {
		for col := range cols {
			fmt.Fprintf(&b, "%.7f %.7f %d\n", -65.2+float64(col)*stepDeg, -37.9-float64(row)*stepDeg, col+1000*row)
		}
	}
	r, err := openXYZ(b.String())
	require.NoError(t, err)
	l := r.Layout()
	assert.Equal(t, [2]int{cols, rows}, [2]int{l.Cols, l.Rows})
	for i, v := range whole(t, r) {
		col, row := i%cols, i/cols
		require.Equal(t, float64(col+1000*row), v)
		require.InDelta(t, -65.2+float64(col)*stepDeg, l.OriginX+float64(col)*l.ColX, 1e-7)
		require.InDelta(t, -37.9-float64(row)*stepDeg, l.OriginY+float64(row)*l.RowY, 1e-7)
	}
}

func TestScattered(t *testing.T) {
	random := rand.New(rand.NewPCG(1, 2))
	survey := func(verb string) string {
		var b strings.Builder
		for range 400 {
			fmt.Fprintf(&b, verb+" "+verb+" %.2f\n", 1000*random.Float64(), 800*random.Float64(), 100+random.Float64())
		}
		return b.String()
	}
	var turned strings.Builder
	for i := range 400 {
		x, y := float64(i%20), float64(i/20)
		fmt.Fprintf(&turned, "%.3f %.3f 1\n", 0.8*x-0.6*y, 0.6*x+0.8*y)
	}
	for name, in := range map[string]string{
		"survey to the millimetre": survey("%.3f"),
		"survey to the metre":      survey("%.0f"),
		"turned grid":              turned.String(),
		"one line of points":       "1 5 9\n2 5 9\n3 5 9\n",
		"one point":                "1 2 3\n",
		"two points in a place":    strings.Join(points, "\n") + "\n115 215 7\n",
		"point numbers":            "1 100 200 5\n2 110 200 5\n",
		"one point astray":         strings.Join(points, "\n") + "\n118.2 215 7\n",
	} {
		_, err := openXYZ(in)
		require.ErrorIs(t, err, textgrid.ErrScattered, name)
		assert.Contains(t, err.Error(), "x.xyz")
	}
}

func TestXYZRefused(t *testing.T) {
	for in, problem := range map[string]string{
		"":                                 "no point",
		"X Y Z\n":                          "no point",
		"1 2\n":                            "2 columns",
		"1 2 3\n4 5\n":                     "2 numbers; X, Y and Z are needed",
		"1 2 3\n4 5 six\n":                 `"six" is no number`,
		"1 2 3\n4 nan 6\n":                 `"nan" is no number`,
		"1 2 3\n4 5 6 7\n":                 "4 numbers where the lines before have 3",
		"1 2 " + strings.Repeat("3", 5000): "more than 4096 characters",
	} {
		_, err := openXYZ(in)
		requireProblem(t, err, problem)
		assert.False(t, errors.Is(err, textgrid.ErrScattered))
	}
}

func TestReferenceGiven(t *testing.T) {
	r, err := openASCII(plain)
	require.NoError(t, err)
	assert.True(t, r.Head().Reference.Silent())
	ref := format.Reference{Declared: "EPSG:32720", Code: 32720}
	r.SetReference(ref)
	assert.Equal(t, ref, r.Head().Reference)
	assert.Zero(t, r.HeightUnitM())
}

// Any window, in any order, is that part of the whole.
func TestWindows(t *testing.T) {
	_, asc := text(t, hill, "x.asc", "-of", "AAIGrid")
	_, list := text(t, hill, "x.xyz", "-of", "XYZ")
	a, err := openASCII(asc)
	require.NoError(t, err)
	x, err := openXYZ(list)
	require.NoError(t, err)
	rasters := []*textgrid.Raster{a, x}
	wholes := [][]float64{whole(t, a), whole(t, x)}
	rapid.Check(t, func(t *rapid.T) {
		k := rapid.IntRange(0, 1).Draw(t, "file")
		l := rasters[k].Layout()
		col0 := rapid.IntRange(0, l.Cols-1).Draw(t, "col0")
		row0 := rapid.IntRange(0, l.Rows-1).Draw(t, "row0")
		g, err := rasters[k].Window(col0, row0,
			rapid.IntRange(col0+1, l.Cols).Draw(t, "col1"), rapid.IntRange(row0+1, l.Rows).Draw(t, "row1"))
		require.NoError(t, err)
		for i, v := range g.Heights {
			want := wholes[k][(row0+i/g.Cols)*l.Cols+col0+i%g.Cols]
			require.True(t, v == want || math.IsNaN(v) && math.IsNaN(want))
		}
		require.Equal(t, l.OriginX+float64(col0)*l.ColX, g.OriginX)
		require.Equal(t, l.OriginY+float64(row0)*l.RowY, g.OriginY)
	})
	for _, w := range [][4]int{{0, 0, 0, 1}, {-1, 0, 1, 1}, {0, 0, 65, 5}, {0, 4, 7, 3}, {0, 0, 7, 49}} {
		_, err := a.Window(w[0], w[1], w[2], w[3])
		requireProblem(t, err, "is empty or leaves the raster")
	}
}

// A window that begins beyond the first chunk of a file.
func TestFarWindow(t *testing.T) {
	const cols, rows = 1000, 500
	var b strings.Builder
	fmt.Fprintf(&b, "ncols %d\nnrows %d\nxllcorner 0\nyllcorner 0\ncellsize 1\nnodata -1\n", cols, rows)
	for i := range cols * rows {
		fmt.Fprintf(&b, "%d ", i)
	}
	r, err := openASCII(b.String())
	require.NoError(t, err)
	for _, w := range [][4]int{{990, 490, 1000, 500}, {0, 0, 3, 3}, {500, 250, 510, 260}} {
		g, err := r.Window(w[0], w[1], w[2], w[3])
		require.NoError(t, err)
		for i, v := range g.Heights {
			require.Equal(t, float64((w[1]+i/g.Cols)*cols+w[0]+i%g.Cols), v)
		}
	}
}

// Real grids beside the repository, by GDAL.
func TestSharedGrids(t *testing.T) {
	found, err := filepath.Glob("../../../../shared/data/dem/*.asc")
	require.NoError(t, err)
	for _, name := range found {
		t.Run(filepath.Base(name), func(t *testing.T) {
			b, err := os.ReadFile(name)
			require.NoError(t, err)
			r, err := openASCII(string(b))
			require.NoError(t, err)
			requirePlaced(t, name, r.Layout(), micrometre)
			requireSameFloat32(t, gdalHeights(t, name), whole(t, r))
		})
	}
}
