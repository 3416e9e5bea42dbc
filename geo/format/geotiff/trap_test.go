package geotiff_test

import (
	"bytes"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hemrow/geo"
	"hemrow/geo/format/geotiff"
)

// What is not read is refused by name, and the command of the hint turns the
// file into one that is read.
func TestRefusedByName(t *testing.T) {
	for _, c := range []struct {
		name    string
		options []string
		problem string
	}{
		{"ZSTD", []string{"-co", "COMPRESS=ZSTD"}, "the compression ZSTD (50000) is not read"},
		{"LERC", []string{"-co", "COMPRESS=LERC"}, "the compression LERC (34887) is not read"},
		{"LZMA", []string{"-co", "COMPRESS=LZMA"}, "the compression LZMA (34925) is not read"},
		{"JPEG", []string{"-ot", "Byte", "-co", "COMPRESS=JPEG"}, "the compression JPEG (7) is not read"},
		{"half floats", []string{"-co", "NBITS=16"}, "stored as float16"},
		{"12 bits", []string{"-ot", "UInt16", "-co", "NBITS=12"}, "stored as uint12"},
		{"complex", []string{"-ot", "CFloat32"}, "stored as numbers of format 6 and 64 bits"},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			in := translate(t, hill, "in.tif", c.options...)
			_, err := openFile(t, in)
			requireProblem(t, err, c.problem, "gdal_translate ")
			var e *geo.InputError
			require.ErrorAs(t, err, &e)
			options := regexp.MustCompile(`gdal_translate (.*) in\.tif out\.tif`).FindStringSubmatch(e.Hint)
			require.NotNil(t, options, e.Hint)
			out := translate(t, in, "out.tif", strings.Fields(options[1])...)
			whole(t, mustOpen(t, out))
		})
	}
}

func TestPicturesRefused(t *testing.T) {
	_, err := openFile(t, translate(t, hill, "x.tif", "-ot", "Byte", "-b", "1", "-b", "1", "-b", "1", "-co", "PHOTOMETRIC=RGB"))
	requireProblem(t, err, "colours (RGB (2))", "raster of heights")
}

func TestNoData(t *testing.T) {
	want := gdalHeights(t, hill)
	for _, c := range []struct{ name, value string }{
		{"minus", "-32767"},
		{"nan", "nan"},
		{"lowest float", "-3.4028234663852886e+38"},
		{"lowest float, cut short", "-3.40282e+38"},
		{"not a float32", "0.1"},
	} {
		t.Run(c.name, func(t *testing.T) {
			// gdalwarp rewrites the cells, gdal_translate the number alone.
			name := filepath.Join(t.TempDir(), "x.tif")
			gdal(t, "gdalwarp", "-q", "-dstnodata", c.value, hill, name)
			r := mustOpen(t, name)
			requireSame(t, want, whole(t, r).Heights)
			assert.Empty(t, r.Head().Notes)
		})
	}
	t.Run("unnamed", func(t *testing.T) {
		r := mustOpen(t, translate(t, hill, "x.tif", "-a_nodata", "none"))
		requireSame(t, want, whole(t, r).Heights)
		assert.Equal(t, []geo.Code{geo.NoteHeightMissing}, codes(r.Head().Notes))
	})
	t.Run("no number", func(t *testing.T) {
		_, err := openBytes(small(field{42113, "none"}).bytes(t))
		requireProblem(t, err, `GDAL_NODATA is "none"`, "-a_nodata")
	})
}

// A block that the file leaves out is without height.
func TestSparse(t *testing.T) {
	name := filepath.Join(t.TempDir(), "x.tif")
	gdal(t, "gdalwarp", "-q", "-te", "312000", "5800000", "315000", "5802000", "-tr", "10", "10",
		"-co", "SPARSE_OK=TRUE", "-co", "TILED=YES", "-co", "BLOCKXSIZE=16", "-co", "BLOCKYSIZE=16", "-co", "COMPRESS=LZW", hill, name)
	stat, err := os.Stat(name)
	require.NoError(t, err)
	require.Less(t, stat.Size(), int64(30_000), "the file leaves blocks out")
	requireSame(t, gdalHeights(t, name), whole(t, mustOpen(t, name)).Heights)
}

func TestBands(t *testing.T) {
	for _, interleave := range []string{"PIXEL", "BAND"} {
		for _, pack := range []string{"NONE", "DEFLATE", "LZW"} {
			t.Run(interleave+" "+pack, func(t *testing.T) {
				two := vrt(t, func(s string) string {
					from, to := strings.Index(s, "<VRTRasterBand"), strings.Index(s, "</VRTRasterBand>")+len("</VRTRasterBand>")
					band := s[from:to]
					second := strings.Replace(band, `band="1"`, `band="2"`, 1)
					second = strings.NewReplacer("SimpleSource>", "ComplexSource>", "</SimpleSource>", "</ComplexSource>",
						"<SourceBand>1</SourceBand>", "<SourceBand>1</SourceBand><ScaleRatio>2</ScaleRatio>").Replace(second)
					return s[:to] + second + s[to:]
				})
				args := []string{"-co", "INTERLEAVE=" + interleave, "-co", "COMPRESS=" + pack, "-co", "TILED=YES", "-co", "BLOCKXSIZE=32", "-co", "BLOCKYSIZE=32"}
				if pack != "NONE" {
					args = append(args, "-co", "PREDICTOR=3")
				}
				r := mustOpen(t, translate(t, two, "x.tif", args...))
				requireSame(t, gdalHeights(t, hill), whole(t, r).Heights)
				assert.Equal(t, []geo.Code{geo.NoteExtraNumber}, codes(r.Head().Notes))
			})
		}
	}
}

// A cloud-optimised file holds smaller copies of itself, which are passed over.
func TestOverviews(t *testing.T) {
	name := filepath.Join(t.TempDir(), "large.tif")
	gdal(t, "gdalwarp", "-q", "-tr", "0.7", "0.7", "-r", "bilinear", hill, name)
	cog := translate(t, name, "cog.tif", "-of", "COG", "-co", "COMPRESS=DEFLATE", "-co", "PREDICTOR=YES")
	require.Contains(t, string(gdal(t, "gdalinfo", cog)), "Overviews: ")
	r := mustOpen(t, cog)
	requirePlaced(t, cog, r.Layout())
	requireSame(t, gdalHeights(t, cog), whole(t, r).Heights)
}

func TestMask(t *testing.T) {
	name := filepath.Join(t.TempDir(), "x.tif")
	gdal(t, "gdal_translate", "-q", "--config", "GDAL_TIFF_INTERNAL_MASK", "YES", "-b", "1", "-mask", "1", hill, name)
	r := mustOpen(t, name)
	assert.Contains(t, codes(r.Head().Notes), geo.NoteMaskLeft)
}

// Scale and offset: GDAL's own unscaling of the same file is the outside value.
func TestScale(t *testing.T) {
	packed := translate(t, hill, "packed.tif", "-ot", "Int16", "-scale", "159", "163", "0", "4000", "-a_nodata", "-32768",
		"-a_scale", "0.001", "-a_offset", "159")
	want := gdalHeights(t, translate(t, packed, "plain.tif", "-unscale", "-ot", "Float64"))
	r := mustOpen(t, packed)
	requireSame(t, want, whole(t, r).Heights)
	assert.Equal(t, []geo.Code{geo.NoteHeightScaled}, codes(r.Head().Notes))

	for text, problem := range map[string]string{
		"<GDALMetadata": "is no XML",
		`<GDALMetadata><Item sample="0" role="scale">steep</Item></GDALMetadata>`: `scale of the heights as "steep"`,
		`<GDALMetadata><Item sample="0" role="scale">0</Item></GDALMetadata>`:     `scale of the heights as "0"`,
	} {
		_, err := openBytes(small(field{42112, text}).bytes(t))
		requireProblem(t, err, problem, "gdal_translate")
	}
}

// Whole numbers of 64 bits, which GDAL 3.6 does not write: the heights are those
// put in.
func TestLongNumbers(t *testing.T) {
	for _, order := range []binary.ByteOrder{binary.LittleEndian, binary.BigEndian} {
		for _, deflate := range []bool{false, true} {
			for _, format := range []int{1, 2} {
				m := small()
				m.order, m.deflate, m.bits, m.format, m.big, m.tile = order, deflate, 64, format, deflate, 16
				m.cell = func(col, row int) uint64 { return uint64(int64(col-3) * 1e12) }
				if format == 1 {
					m.cell = func(col, row int) uint64 { return uint64(col) * 1e18 }
				}
				r, err := openBytes(m.bytes(t))
				require.NoError(t, err)
				g := whole(t, r)
				for i, v := range g.Heights {
					want := float64(i%7-3) * 1e12
					if format == 1 {
						want = float64(i%7) * 1e18
					}
					require.Equal(t, want, v)
				}
			}
		}
	}
}

func TestHostileHeaders(t *testing.T) {
	for _, c := range []struct {
		name    string
		more    []field
		problem string
	}{
		{"no width", []field{{256, nil}}, "0 x 5 cells"},
		{"endless width", []field{{256, []uint32{math.MaxUint32}}}, "4294967295 x 5 cells"},
		{"more rows than strips", []field{{257, []uint32{1 << 20}}}, "places of 5 blocks; the image has 1048576"},
		{"no bits", []field{{258, []uint16{0}}}, "stored as float0"},
		{"fill order", []field{{266, []uint16{2}}}, "backwards"},
		{"no bands", []field{{277, []uint16{0}}}, "a cell has 0 values"},
		{"bands of different bits", []field{{277, []uint16{2}}, {258, []uint16{32, 16}}}, "32 and 16 bits"},
		{"predictor 3 for whole numbers", []field{{339, []uint16{1}}, {259, []uint16{8}}, {317, []uint16{3}}}, "predictor 3 for uint32"},
		{"predictor 9", []field{{259, []uint16{8}}, {317, []uint16{9}}}, "predictor 9"},
		{"huge compressed block", []field{{259, []uint16{8}}, {322, []uint32{1 << 20}}, {323, []uint32{1 << 20}}, {324, []uint32{8}}, {325, []uint32{8}}}, "larger than 64 MiB"},
		{"tile without height", []field{{322, []uint32{16}}, {323, []uint32{0}}}, "blocks are 16 x 0"},
		{"no offsets", []field{{273, nil}}, "places of 0 blocks"},
		{"few counts", []field{{279, []uint32{28}}}, "lengths of 1 blocks"},
		{"scale without size", []field{{33550, []float64{0, 10, 0}}}, "no size"},
		{"negative scale", []field{{33550, []float64{10, -10, 0}}}, "negative scale"},
		{"scale not finite", []field{{33550, []float64{math.NaN(), 10, 0}}}, "value 1 is no finite number"},
		{"scale too large", []field{{33550, []float64{1e308, 1e308, 0}}}, "no size"},
		{"scale of text", []field{{33550, "10 m"}}, "type 2"},
		{"flat matrix", []field{{33550, nil}, {33922, nil}, {34264, make([]float64, 16)}}, "no size"},
		{"short matrix", []field{{33550, nil}, {33922, nil}, {34264, make([]float64, 15)}}, "holds 15 numbers"},
		{"keys cut short", []field{{34735, []uint16{1, 1, 0, 9, 1024, 0, 1, 1}}}, "GeoKeyDirectory is cut short"},
		{"key past its list", []field{{34735, []uint16{1, 1, 0, 1, 3080, 34736, 1, 7}}}, "GeoKey 3080 lies past"},
		{"geocentric", []field{{34735, []uint16{1, 1, 0, 1, 1024, 0, 1, 3}}}, "geocentric"},
		{"only an overview", []field{{254, []uint32{1}}}, "no image of full resolution"},
		{"absurd projection", []field{
			{34735, []uint16{1, 1, 0, 5, 1024, 0, 1, 1, 2056, 0, 1, 7030, 3072, 0, 1, 32767, 3075, 0, 1, 1, 3092, 34736, 1, 0}},
			{34736, []float64{1e9}},
		}, "the file's own system"},
		{"unknown unit", []field{
			{34735, []uint16{1, 1, 0, 5, 1024, 0, 1, 1, 2056, 0, 1, 7030, 3072, 0, 1, 32767, 3075, 0, 1, 1, 3076, 0, 1, 8}},
		}, "unit (code 8)"},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, err := openBytes(small(c.more...).bytes(t))
			requireProblem(t, err, c.problem, "")
		})
	}
}

func TestNoTIFF(t *testing.T) {
	for in, problem := range map[string]string{
		"":                           "too short",
		"II*":                        "too short",
		"PK\x03\x04zip file":         `begins with "PK"`,
		"II\x2A\x01\x08\x00\x00\x00": "version is 298",
		"II+\x00\x04\x00\x00\x00\x10\x00\x00\x00\x00\x00\x00\x00": "offsets of 4 bytes",
		"II*\x00\xFF\xFF\x00\x00":                                 "image directory at byte 65535",
		"II*\x00\x08\x00\x00\x00\x00\x00":                         "claims 0 fields",
		"II*\x00\x08\x00\x00\x00\xFF\xFF":                         "claims 65535 fields",
		"II*\x00\x00\x00\x00\x00":                                 "no image of full resolution",
		"MM\x00*\x00\x00\x00\x08\x00\x01\x01\x00":                 "runs past the end",
	} {
		_, err := openBytes([]byte(in))
		requireProblem(t, err, problem, "")
	}
}

// A file cut anywhere either fails to open or fails to read, with the place,
// and never reads other heights.
func TestCutAnywhere(t *testing.T) {
	for _, name := range []string{"plain", "deflate"} {
		m := small(field{42113, "-9999"}, field{34735, []uint16{1, 1, 0, 1, 1024, 0, 1, 1}})
		m.deflate = name == "deflate"
		all := m.bytes(t)
		full, err := openBytes(all)
		require.NoError(t, err)
		want := whole(t, full).Heights
		for n := range all {
			r, err := openBytes(all[:n])
			if err == nil {
				var g []float64
				grid, readErr := r.Window(0, 0, 7, 5)
				g, err = grid.Heights, readErr
				if err == nil {
					requireSame(t, want, g)
					continue
				}
			}
			var e *geo.InputError
			require.ErrorAs(t, err, &e, "cut at %d", n)
		}
	}
}

// Blocks that are damaged: the reader says which and where.
func TestDamagedBlocks(t *testing.T) {
	m := small()
	m.deflate, m.tile = true, 16
	good := m.bytes(t)
	bad := bytes.Clone(good)
	bad[8+2+20] ^= 0xFF // inside the only tile
	r, err := openBytes(bad)
	require.NoError(t, err)
	_, err = r.Window(0, 0, 7, 5)
	requireProblem(t, err, "tile 1 (from column 1, row 1) at byte 8", "damaged")

	short := small(field{279, []uint32{28, 28, 27, 28, 28}})
	r, err = openBytes(short.bytes(t))
	require.NoError(t, err)
	_, err = r.Window(0, 0, 7, 2)
	require.NoError(t, err)
	_, err = r.Window(0, 0, 7, 3)
	requireProblem(t, err, "strip 3 (from column 1, row 3) holds 27 bytes", "damaged")

	for name, pack := range map[string]uint16{"LZW": 5, "PackBits": 32773, "deflate": 32946} {
		r, err = openBytes(small(field{259, []uint16{pack}}).bytes(t))
		require.NoError(t, err)
		_, err = r.Window(0, 0, 7, 5)
		var e *geo.InputError
		require.ErrorAs(t, err, &e, name)
		assert.Contains(t, e.Problem, "strip ", name)
	}
}

// failing is a reader whose medium fails.
type failing struct{}

var _ io.ReaderAt = failing{}

func (failing) ReadAt([]byte, int64) (int, error) { return 0, errFailing }

var errFailing = errors.New("medium failed")

func TestReaderFails(t *testing.T) {
	_, err := geotiff.Open("x.tif", failing{}, 1000)
	require.ErrorIs(t, err, errFailing)
	r, err := openBytes(small().bytes(t))
	require.NoError(t, err)
	for _, w := range [][4]int{{0, 0, 0, 1}, {-1, 0, 1, 1}, {0, 0, 8, 5}, {0, 4, 7, 3}, {0, 0, 7, 6}} {
		_, err := r.Window(w[0], w[1], w[2], w[3])
		requireProblem(t, err, fmt.Sprintf("columns %d to %d and rows %d to %d", w[0], w[2], w[1], w[3]), "")
	}
}

func TestHugeWindow(t *testing.T) {
	m := small(field{256, []uint32{1 << 15}}, field{257, []uint32{1 << 15}},
		field{322, []uint32{1 << 15}}, field{323, []uint32{1 << 15}}, field{324, []uint32{8}}, field{325, []uint32{28}})
	r, err := openBytes(m.bytes(t))
	require.NoError(t, err)
	_, err = r.Window(0, 0, 1<<15, 1<<15)
	requireProblem(t, err, "at most 100 million are read at once", "gdalwarp -tr")
	_, err = r.Window(0, 0, 1<<15, 1)
	requireProblem(t, err, "too few for its cells", "")
	g, err := r.Window(0, 0, 7, 1)
	require.NoError(t, err)
	requireSame(t, []float64{0, 100, 200, 300, 400, 500, 600}, g.Heights)
}
