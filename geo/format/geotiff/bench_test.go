package geotiff_test

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"io"
	"math"
	"sync"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hemrow/geo/format/geotiff"
)

// counting counts the bytes read.
type counting struct {
	io.ReaderAt
	read int64
}

func (c *counting) ReadAt(b []byte, off int64) (int, error) {
	n, err := c.ReaderAt.ReadAt(b, off)
	c.read += int64(n)
	return n, err
}

// large is 5,000 x 5,000 floats in tiles of 256, deflated: rolling ground with
// noise in the last bits, as lidar has.
func large(tb testing.TB) []byte {
	tb.Helper()
	largeOnce.Do(func() {
		m := maker{order: binary.LittleEndian, cols: 5000, rows: 5000, tile: 256, deflate: true, bits: 32, format: 3}
		var wave [5376]float64 // columns and rows of whole tiles
		for i := range wave {
			wave[i] = 30 * math.Sin(float64(i)/400)
		}
		m.cell = floatCell(func(col, row int) float32 {
			noise := (uint32(col)*2654435761 ^ uint32(row)*2246822519) >> 16
			return float32(200 + wave[col] + wave[row] + float64(noise)/65536/50)
		})
		largeFile = m.bytes(tb)
	})
	return largeFile
}

// The large file is made once for all that use it.
var (
	largeOnce sync.Once
	largeFile []byte
)

// A window of 600 x 600 cells of a file of 25 million reads less than a
// twentieth of it, most of that the tiles the window touches.
func TestReadsOnlyTheWindow(t *testing.T) {
	data := large(t)
	c := &counting{ReaderAt: bytes.NewReader(data)}
	r, err := geotiff.Open("large.tif", c, int64(len(data)))
	require.NoError(t, err)
	assert.Less(t, c.read, int64(2000), "opening reads the header alone")
	_, err = r.Window(2100, 2100, 2700, 2700)
	require.NoError(t, err)
	assert.Less(t, c.read, int64(len(data)/20))
	before := c.read
	_, err = r.Window(2110, 2110, 2690, 2690)
	require.NoError(t, err)
	assert.Less(t, c.read-before, int64(1000), "the blocks are still at hand")
	t.Logf("%d of %d bytes read, %.2f %%", before, len(data), 100*float64(before)/float64(len(data)))
}

func BenchmarkWindow(b *testing.B) {
	data := large(b)
	for _, n := range []int{60, 600} {
		b.Run(fmt.Sprintf("cells=%dx%d of 5000x5000", n, n), func(b *testing.B) {
			b.ReportAllocs()
			b.SetBytes(int64(8 * n * n))
			var read int64
			for b.Loop() {
				c := &counting{ReaderAt: bytes.NewReader(data)}
				r, err := geotiff.Open("large.tif", c, int64(len(data)))
				if err != nil {
					b.Fatal(err)
				}
				if _, err := r.Window(2100, 2100, 2100+n, 2100+n); err != nil {
					b.Fatal(err)
				}
				read = c.read
			}
			b.ReportMetric(100*float64(read)/float64(len(data)), "%file")
		})
	}
}

// The ways of packing, on the same heights: uncompressed bytes a second.
func BenchmarkPacking(b *testing.B) {
	name := translate(b, hill, "large.tif", "-outsize", "2048", "2048", "-r", "cubic")
	for _, c := range [][]string{
		{"NONE"},
		{"PACKBITS"},
		{"LZW"},
		{"LZW", "-co", "PREDICTOR=2"},
		{"LZW", "-co", "PREDICTOR=3"},
		{"DEFLATE"},
		{"DEFLATE", "-co", "PREDICTOR=2"},
		{"DEFLATE", "-co", "PREDICTOR=3"},
	} {
		b.Run(fmt.Sprintf("%s/%s", c[0], c[len(c)-1]), func(b *testing.B) {
			packed := translate(b, name, "x.tif", append([]string{"-co", "TILED=YES", "-co", "COMPRESS=" + c[0]}, c[1:]...)...)
			b.SetBytes(4 * 2048 * 2048)
			b.ReportAllocs()
			for b.Loop() {
				whole(b, mustOpen(b, packed))
			}
		})
	}
}
