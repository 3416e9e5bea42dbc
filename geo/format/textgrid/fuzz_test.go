package textgrid_test

import (
	"errors"
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hemrow/geo"
	"hemrow/geo/format"
	"hemrow/geo/format/textgrid"
)

// requireSound checks what must hold of any raster: a window is finite or NaN,
// and a part of it is the same.
func requireSound(t *testing.T, r format.Raster) {
	l := r.Layout()
	require.Positive(t, l.Cols)
	require.Positive(t, l.Rows)
	require.False(t, math.IsNaN(l.OriginX+l.OriginY+l.ColX+l.RowY))
	cols, rows := min(l.Cols, 300), min(l.Rows, 300)
	g, err := r.Window(0, 0, cols, rows)
	if err != nil {
		var e *geo.InputError
		require.ErrorAs(t, err, &e)
		assert.NotEmpty(t, e.Problem)
		return
	}
	for _, v := range g.Heights {
		require.False(t, math.IsInf(v, 0))
	}
	part, err := r.Window(cols/2, rows/2, cols, rows)
	require.NoError(t, err)
	for i, v := range part.Heights {
		want := g.Heights[(rows/2+i/part.Cols)*cols+cols/2+i%part.Cols]
		require.True(t, v == want || math.IsNaN(v) && math.IsNaN(want))
	}
}

// FuzzOpenASCII: nothing panics and every refusal says what is wrong. Numbers
// that are read are as many as the header tells, by splitting at blanks.
func FuzzOpenASCII(f *testing.F) {
	for _, seed := range []string{
		"", plain, strings.ToUpper(plain), strings.ReplaceAll(plain, "\n", " "), "\uFEFF" + plain,
		strings.NewReplacer("corner", "center", "cellsize 10", "dx 10 dy 5", "6", "6,5e1").Replace(plain),
		"ncols 1 nrows 1 xllcorner 0 yllcorner 0 cellsize 1 nodata nan nan",
	} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, in string) {
		r, err := openASCII(in)
		if err != nil {
			var e *geo.InputError
			require.ErrorAs(t, err, &e)
			assert.NotEmpty(t, e.Problem)
			return
		}
		requireSound(t, r)
		l := r.Layout()
		if _, err := r.Window(0, 0, 1, 1); err == nil {
			words := strings.FieldsFunc(in, func(c rune) bool { return strings.ContainsRune(" \t\r\n\v\f", c) })
			require.Zero(t, (len(words)-l.Cols*l.Rows)%2, "pairs and numbers")
		}
	})
}

// FuzzOpenXYZ: nothing panics, and points that are read lie where the grid has
// them.
func FuzzOpenXYZ(f *testing.F) {
	for _, seed := range []string{
		"", strings.Join(points, "\n"), "X;Y;Z\n" + strings.ReplaceAll(strings.Join(points, "\n"), " ", ";"),
		"lat,lon,h\n1.5,2.5,3\n1.6,2.5,4\n1.5,2.6,nan", "# x\n1 1 1\n1 2 2\r\n2 1 3\n2 2 1e5\n", "1,0 2,0 3,0\n2,0 2,0 1\n1 3 4",
	} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, in string) {
		r, err := openXYZ(in)
		if err != nil {
			var e *geo.InputError
			require.True(t, errors.Is(err, textgrid.ErrScattered) || errors.As(err, &e), "%v", err)
			return
		}
		requireSound(t, r)
	})
}
