package geotiff_test

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

	"hemrow/geo"
	"hemrow/geo/format"
	"hemrow/geo/format/geotiff"
)

// The outside values are those of GDAL's command line tools (3.6.2 when
// written), which read and write the same files by their own code.

const hill = "testdata/hill.tif"

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

// translate makes a file of another by gdal_translate and returns its name.
func translate(tb testing.TB, from, to string, options ...string) string {
	tb.Helper()
	name := filepath.Join(tb.TempDir(), to)
	gdal(tb, "gdal_translate", append(append([]string{"-q"}, options...), from, name)...)
	return name
}

// info is what gdalinfo says of a file.
type info struct {
	Size         [2]int     `json:"size"`
	GeoTransform [6]float64 `json:"geoTransform"`
	Bands        []struct {
		NoData any    `json:"noDataValue"`
		Unit   string `json:"unit"`
		Type   string `json:"type"`
	} `json:"bands"`
}

func gdalInfo(tb testing.TB, name string) (out info) {
	tb.Helper()
	require.NoError(tb, json.Unmarshal(gdal(tb, "gdalinfo", "-json", name), &out))
	return out
}

// gdalHeights is all cells of the first band as GDAL reads them, NaN for no
// data: a raw file of float64.
func gdalHeights(tb testing.TB, name string) []float64 {
	tb.Helper()
	raw, err := os.ReadFile(translate(tb, name, "raw.bin", "-of", "ENVI", "-ot", "Float64", "-b", "1"))
	require.NoError(tb, err)
	noData := math.NaN()
	if v, ok := gdalInfo(tb, name).Bands[0].NoData.(float64); ok {
		noData = v
	}
	out := make([]float64, len(raw)/8)
	for i := range out {
		out[i] = math.Float64frombits(binary.NativeEndian.Uint64(raw[8*i:]))
		if out[i] == noData {
			out[i] = math.NaN()
		}
	}
	return out
}

func openFile(tb testing.TB, name string) (*geotiff.Raster, error) {
	tb.Helper()
	f, err := os.Open(name)
	require.NoError(tb, err)
	tb.Cleanup(func() { assert.NoError(tb, f.Close()) })
	stat, err := f.Stat()
	require.NoError(tb, err)
	return geotiff.Open(name, f, stat.Size())
}

func mustOpen(tb testing.TB, name string) *geotiff.Raster {
	tb.Helper()
	r, err := openFile(tb, name)
	require.NoError(tb, err)
	return r
}

func openBytes(b []byte) (*geotiff.Raster, error) {
	return geotiff.Open("x.tif", bytes.NewReader(b), int64(len(b)))
}

func whole(tb testing.TB, r format.Raster) format.Grid {
	tb.Helper()
	l := r.Layout()
	g, err := r.Window(0, 0, l.Cols, l.Rows)
	require.NoError(tb, err)
	return g
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

func codes(notes geo.Notes) (out []geo.Code) {
	for _, n := range notes {
		out = append(out, n.Code)
	}
	return out
}

func TestHill(t *testing.T) {
	r := mustOpen(t, hill)
	head := r.Head()
	assert.Equal(t, hill, head.Name)
	assert.Equal(t, "GeoTIFF", head.Format)
	assert.Equal(t, format.Reference{Declared: "EPSG:32720", Code: 32720}, head.Reference)
	assert.Empty(t, head.Notes)
	assert.Zero(t, r.HeightUnitM())
	g := whole(t, r)
	requireSame(t, gdalHeights(t, hill), g.Heights)
	none := 0
	for _, v := range g.Heights {
		if math.IsNaN(v) {
			none++
		}
	}
	assert.Equal(t, 309, none, "as counted in an ASCII grid by gdal_translate")
}

// kinds are the types GDAL writes, each filled to its limits from the heights.
var kinds = []struct {
	name    string
	options []string
	float   bool
}{
	{"uint8", []string{"-ot", "Byte", "-scale", "159.2", "162.2", "0", "255"}, false},
	{"int8", []string{"-ot", "Byte", "-scale", "159.2", "162.2", "0", "255", "-co", "PIXELTYPE=SIGNEDBYTE"}, false},
	{"uint16", []string{"-ot", "UInt16", "-scale", "159.2", "162.2", "0", "65535"}, false},
	{"int16", []string{"-ot", "Int16", "-scale", "159.2", "162.2", "-32000", "32767"}, false},
	{"uint32", []string{"-ot", "UInt32", "-scale", "159.2", "162.2", "0", "4294967295"}, false},
	{"int32", []string{"-ot", "Int32", "-scale", "159.2", "162.2", "-2147483000", "2147483647"}, false},
	{"float32", []string{"-ot", "Float32"}, true},
	{"float64", []string{"-ot", "Float64", "-scale", "159.2", "162.2", "-0.7", "1.3333333333333333"}, true},
}

// plainHeights makes a file of one type without compression and reads it by
// GDAL.
func plainHeights(t *testing.T, kind string, options []string) (name string, want []float64) {
	t.Helper()
	name = translate(t, hill, "plain.tif", append(options, "-a_nodata", "none")...)
	want = gdalHeights(t, name)
	for i, v := range want {
		switch {
		case v == -9999: // what a file says that names no number for no height
			want[i] = math.NaN()
		case kind == "int8": // GDAL 3.6 hands them out without their sign
			want[i] = float64(int8(uint8(v)))
		}
	}
	return name, want
}

// swapped is what GDAL reads from its own files of big endian with predictor
// 3. On machines of little endian its writer swaps bytes before the predictor,
// which is not for any order, so that other numbers come back than were put
// in; but both readers must agree on them.
func swapped(t *testing.T, name string) []float64 {
	t.Helper()
	want := gdalHeights(t, name)
	for i, v := range want {
		if math.Abs(v) > 1e30 || v == -9999 {
			want[i] = math.NaN()
		}
	}
	return want
}

// Every way to lay out, type, compress and order the same heights reads as
// GDAL reads the plain file. Byte order and BigTIFF go together but for
// float32, which has all four.
func TestEveryEncoding(t *testing.T) {
	layouts := map[string][]string{
		"strips": {"-co", "BLOCKYSIZE=7"},
		"tiles":  {"-co", "TILED=YES", "-co", "BLOCKXSIZE=32", "-co", "BLOCKYSIZE=16"},
	}
	for _, kind := range kinds {
		plain, want := plainHeights(t, kind.name, kind.options)
		packs := []string{"NONE", "PACKBITS", "LZW/1", "LZW/2", "DEFLATE/1", "DEFLATE/2"}
		if kind.float {
			packs = append(packs, "LZW/3", "DEFLATE/3")
		}
		headers := []string{"LITTLE/NO", "BIG/YES"}
		if kind.name == "float32" {
			headers = append(headers, "LITTLE/YES", "BIG/NO")
		}
		for layout, options := range layouts {
			for _, pack := range packs {
				for _, header := range headers {
					t.Run(strings.Join([]string{kind.name, layout, pack, header}, " "), func(t *testing.T) {
						t.Parallel()
						order, big, _ := strings.Cut(header, "/")
						pack, predictor, some := strings.Cut(pack, "/")
						args := append([]string{"-co", "COMPRESS=" + pack, "-co", "ENDIANNESS=" + order, "-co", "BIGTIFF=" + big}, options...)
						if some {
							args = append(args, "-co", "PREDICTOR="+predictor)
						}
						if kind.name == "int8" {
							args = append(args, "-co", "PIXELTYPE=SIGNEDBYTE")
						}
						name, want := translate(t, plain, "x.tif", args...), want
						if predictor == "3" && order == "BIG" {
							want = swapped(t, name)
						}
						requireSame(t, want, whole(t, mustOpen(t, name)).Heights)
					})
				}
			}
		}
	}
}
