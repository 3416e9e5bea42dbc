package textgrid_test

import (
	"bytes"
	"encoding/binary"
	"encoding/json"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hemrow/geo/format"
	"hemrow/geo/format/textgrid"
)

// The outside values are those of GDAL's command line tools (3.6.2 when
// written). hill is described in SOURCES.md beside it.
const hill = "../geotiff/testdata/hill.tif"

// gdal runs one of GDAL's tools; a machine without them fails.
func gdal(tb testing.TB, tool string, args ...string) []byte {
	tb.Helper()
	cmd := exec.Command(tool, args...)
	cmd.Env = append(os.Environ(), "GDAL_PAM_ENABLED=NO")
	var stderr bytes.Buffer
	cmd.Stderr = &stderr
	out, err := cmd.Output()
	require.NoError(tb, err, "%s %s: %s (install gdal-bin)", tool, strings.Join(args, " "), &stderr)
	return out
}

// text makes a text grid of another raster by gdal_translate.
func text(tb testing.TB, from, to string, options ...string) (name, content string) {
	tb.Helper()
	name = filepath.Join(tb.TempDir(), to)
	gdal(tb, "gdal_translate", append(append([]string{"-q"}, options...), from, name)...)
	b, err := os.ReadFile(name)
	require.NoError(tb, err)
	return name, string(b)
}

// gdalHeights is all cells as GDAL reads them, NaN for -9999.
func gdalHeights(tb testing.TB, name string) []float64 {
	tb.Helper()
	_, raw := text(tb, name, "raw.bin", "-of", "ENVI", "-ot", "Float64")
	out := make([]float64, len(raw)/8)
	for i := range out {
		out[i] = math.Float64frombits(binary.NativeEndian.Uint64([]byte(raw[8*i:])))
		if out[i] == -9999 {
			out[i] = math.NaN()
		}
	}
	return out
}

// requirePlaced compares the layout with the corner and the steps that gdalinfo
// finds in the file; the bound is given by how the file rounds.
func requirePlaced(tb testing.TB, name string, l format.Layout, slack float64) {
	tb.Helper()
	var in struct {
		Size         [2]int     `json:"size"`
		GeoTransform [6]float64 `json:"geoTransform"`
	}
	require.NoError(tb, json.Unmarshal(gdal(tb, "gdalinfo", "-json", name), &in))
	assert.Equal(tb, in.Size, [2]int{l.Cols, l.Rows})
	g := in.GeoTransform
	assert.InDelta(tb, g[0]+g[1]/2, l.OriginX, slack)
	assert.InDelta(tb, g[3]+g[5]/2, l.OriginY, slack)
	assert.InDelta(tb, g[1], l.ColX, slack)
	assert.InDelta(tb, g[5], l.RowY, slack)
	assert.Zero(tb, l.ColY)
	assert.Zero(tb, l.RowX)
}

func openASCII(s string) (*textgrid.Raster, error) {
	return textgrid.OpenASCII("x.asc", strings.NewReader(s), int64(len(s)))
}

func openXYZ(s string) (*textgrid.Raster, error) {
	return textgrid.OpenXYZ("x.xyz", strings.NewReader(s), int64(len(s)))
}

func whole(tb testing.TB, r format.Raster) []float64 {
	tb.Helper()
	l := r.Layout()
	g, err := r.Window(0, 0, l.Cols, l.Rows)
	require.NoError(tb, err)
	return g.Heights
}

// requireSame compares cells to the last bit; NaN equals NaN.
func requireSame(tb testing.TB, want, got []float64) {
	tb.Helper()
	require.Len(tb, got, len(want))
	for i := range want {
		if want[i] != got[i] && !(math.IsNaN(want[i]) && math.IsNaN(got[i])) {
			require.Failf(tb, "cells differ", "cell %d is %v, want %v", i, got[i], want[i])
		}
	}
}

// requireSameFloat32 compares cells as GDAL reads those of text grids, unless
// the text has more digits: as float32.
func requireSameFloat32(tb testing.TB, want, got []float64) {
	tb.Helper()
	round := func(v []float64) (out []float64) {
		for _, x := range v {
			out = append(out, float64(float32(x)))
		}
		return out
	}
	requireSame(tb, round(want), round(got))
}

// micrometre is the last decimal GDAL writes positions with, halved twice over.
const micrometre = 1e-6

// ASCII grids as GDAL writes them read as GDAL reads them.
func TestASCIIByGDAL(t *testing.T) {
	for name, options := range map[string][]string{
		"square":           nil,
		"decimals":         {"-co", "DECIMAL_PRECISION=3"},
		"cells not square": {"-tr", "10", "12.5", "-r", "bilinear"},
		"degrees":          {"-a_srs", "EPSG:4326", "-a_ullr", "-65.2", "-37.9", "-65.1", "-37.95"},
	} {
		t.Run(name, func(t *testing.T) {
			file, s := text(t, hill, "x.asc", append(options, "-of", "AAIGrid", "-ot", "Float64")...)
			r, err := openASCII(s)
			require.NoError(t, err)
			requirePlaced(t, file, r.Layout(), micrometre)
			requireSameFloat32(t, gdalHeights(t, file), whole(t, r))
			assert.Empty(t, r.Head().Notes)
			assert.Equal(t, "ESRI ASCII grid", r.Head().Format)
		})
	}
}

// Lists of points as GDAL writes them read as GDAL reads them.
func TestXYZByGDAL(t *testing.T) {
	for name, options := range map[string][]string{
		"blanks":           nil,
		"header":           {"-co", "ADD_HEADER_LINE=YES"},
		"commas":           {"-co", "COLUMN_SEPARATOR=,"},
		"semicolons":       {"-co", "COLUMN_SEPARATOR=;", "-co", "ADD_HEADER_LINE=YES"},
		"cells not square": {"-tr", "10", "12.5", "-r", "bilinear"},
	} {
		t.Run(name, func(t *testing.T) {
			file, s := text(t, hill, "x.xyz", append(options, "-of", "XYZ")...)
			r, err := openXYZ(s)
			require.NoError(t, err)
			requirePlaced(t, file, r.Layout(), micrometre)
			requireSameFloat32(t, gdalHeights(t, file), whole(t, r))
		})
	}
}
