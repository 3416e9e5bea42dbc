package geotiff_test

import (
	"encoding/binary"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"sync"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"hemrow/geo/format"
	"hemrow/geo/format/geotiff"
)

// requireCut checks that g is the window of all that begins at (col0, row0).
func requireCut(t require.TestingT, all, g format.Grid, col0, row0 int) {
	for row := range g.Rows {
		for col := range g.Cols {
			want, got := all.Heights[(row0+row)*all.Cols+col0+col], g.Heights[row*g.Cols+col]
			if want != got && !(math.IsNaN(want) && math.IsNaN(got)) {
				require.Failf(t, "cells differ", "(%d, %d): %v, want %v", col, row, got, want)
			}
		}
	}
	// Two roundings of coordinates below 1e7.
	const slack = 2 * 1e7 * 0x1p-52
	x, y := float64(col0), float64(row0)
	require.InDelta(t, all.OriginX+x*all.ColX+y*all.RowX, g.OriginX, slack)
	require.InDelta(t, all.OriginY+x*all.ColY+y*all.RowY, g.OriginY, slack)
}

// Any window, in any order, is that part of the whole.
func TestWindows(t *testing.T) {
	var rasters []*geotiff.Raster
	var wholes []format.Grid
	for _, args := range [][]string{
		{"-co", "BLOCKYSIZE=7", "-co", "COMPRESS=LZW"},
		{"-co", "TILED=YES", "-co", "BLOCKXSIZE=32", "-co", "BLOCKYSIZE=16"},
		{"-co", "TILED=YES", "-co", "BLOCKXSIZE=16", "-co", "BLOCKYSIZE=32", "-co", "COMPRESS=DEFLATE", "-co", "PREDICTOR=3", "-co", "ENDIANNESS=BIG"},
	} {
		r := mustOpen(t, translate(t, hill, "x.tif", args...))
		rasters, wholes = append(rasters, r), append(wholes, whole(t, r))
	}
	rapid.Check(t, func(t *rapid.T) {
		k := rapid.IntRange(0, len(rasters)-1).Draw(t, "file")
		l := rasters[k].Layout()
		col0 := rapid.IntRange(0, l.Cols-1).Draw(t, "col0")
		row0 := rapid.IntRange(0, l.Rows-1).Draw(t, "row0")
		g, err := rasters[k].Window(col0, row0,
			rapid.IntRange(col0+1, l.Cols).Draw(t, "col1"), rapid.IntRange(row0+1, l.Rows).Draw(t, "row1"))
		require.NoError(t, err)
		requireCut(t, wholes[k], g, col0, row0)
	})
}

// Random sizes of rasters and tiles, against the heights they were made of.
func TestRandomFiles(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		m := small()
		m.order = rapid.SampledFrom([]binary.ByteOrder{binary.LittleEndian, binary.BigEndian}).Draw(rt, "order")
		m.big, m.deflate = rapid.Bool().Draw(rt, "big"), rapid.Bool().Draw(rt, "deflate")
		m.cols, m.rows = rapid.IntRange(1, 40).Draw(rt, "cols"), rapid.IntRange(1, 40).Draw(rt, "rows")
		m.tile = rapid.SampledFrom([]int{0, 1, 5, 16, 64}).Draw(rt, "tile")
		r, err := openBytes(m.bytes(t))
		require.NoError(rt, err)
		for i, v := range whole(t, r).Heights {
			require.Equal(rt, float64(100*(i%m.cols)+i/m.cols), v)
		}
	})
}

// Several goroutines may read one raster.
func TestTogether(t *testing.T) {
	r := mustOpen(t, translate(t, hill, "x.tif", "-co", "TILED=YES", "-co", "BLOCKXSIZE=16", "-co", "BLOCKYSIZE=16", "-co", "COMPRESS=LZW"))
	all := whole(t, r)
	var wg sync.WaitGroup
	for k := range 8 {
		wg.Go(func() {
			for row := range 40 {
				if g, err := r.Window(k, row, k+20, row+8); assert.NoError(t, err) {
					requireCut(t, all, g, k, row)
				}
			}
		})
	}
	wg.Wait()
}

// sharedDEM is where real grids lie beside the repository.
const sharedDEM = "../../../../shared/data/dem/"

// Real grids, written with three decimals, are their ASCII twins word by word;
// the Pampas grid also in its other encodings.
func TestTwins(t *testing.T) {
	found, err := filepath.Glob(sharedDEM + "*.asc")
	require.NoError(t, err)
	for _, asc := range found {
		text, err := os.ReadFile(asc)
		require.NoError(t, err)
		want := strings.Fields(string(text))[12:] // behind six pairs
		twins := []string{strings.TrimSuffix(asc, ".asc") + ".tif"}
		if strings.Contains(asc, "ar-pampas") {
			others, err := filepath.Glob(sharedDEM + "variants/*.tif")
			require.NoError(t, err)
			twins = append(twins, others...)
		}
		for _, name := range twins {
			t.Run(filepath.Base(name), func(t *testing.T) {
				r := mustOpen(t, name)
				requirePlaced(t, name, r.Layout())
				got := whole(t, r).Heights
				require.Len(t, got, len(want))
				for i, v := range got {
					if math.IsNaN(v) {
						v = -9999
					}
					require.Equal(t, want[i], strconv.FormatFloat(v, 'f', 3, 64), "cell %d", i)
				}
			})
		}
	}
}
