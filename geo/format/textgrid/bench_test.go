package textgrid_test

import (
	"fmt"
	"strconv"
	"strings"
	"testing"

	"hemrow/geo/format/textgrid"
)

// BenchmarkASCII reads a window of 600 x 600 of 5,000 x 5,000 cells, and all of
// 2,000 x 2,000. The speed is that of the bytes of the file, which must be
// passed through once; "again" are later windows.
func BenchmarkASCII(b *testing.B) {
	for _, c := range []struct{ side, from, to int }{{5000, 2100, 2700}, {2000, 0, 2000}} {
		in := []byte(fmt.Sprintf("ncols %d\nnrows %d\nxllcorner 0\nyllcorner 0\ncellsize 1\nnodata_value -9999\n", c.side, c.side))
		for row := range c.side {
			for col := range c.side {
				in = append(strconv.AppendFloat(in, 200+float64((col*7+row*13)%9973)/1000, 'f', 3, 64), ' ')
			}
			in = append(in, '\n')
		}
		text := string(in)
		open := func(b *testing.B) *textgrid.Raster {
			r, err := textgrid.OpenASCII("x.asc", strings.NewReader(text), int64(len(text)))
			if err != nil {
				b.Fatal(err)
			}
			return r
		}
		window := func(b *testing.B, r *textgrid.Raster) {
			if _, err := r.Window(c.from, c.from, c.to, c.to); err != nil {
				b.Fatal(err)
			}
		}
		name := fmt.Sprintf("n=%d/window=%d", c.side, c.to-c.from)
		b.Run(name+"/first", func(b *testing.B) {
			b.SetBytes(int64(len(text)))
			b.ReportAllocs()
			for b.Loop() {
				window(b, open(b))
			}
		})
		b.Run(name+"/again", func(b *testing.B) {
			r := open(b)
			window(b, r)
			b.ReportAllocs()
			for b.Loop() {
				window(b, r)
			}
		})
	}
}

// BenchmarkXYZ finds the grid of a million points and reads all of it: three
// passes.
func BenchmarkXYZ(b *testing.B) {
	const side = 1000
	var s strings.Builder
	for row := range side {
		for col := range side {
			fmt.Fprintf(&s, "%.2f %.2f %.3f\n", 311957.78+float64(col), 5801369.17-float64(row), 200+float64((col*7+row*13)%9973)/1000)
		}
	}
	text := s.String()
	b.SetBytes(int64(len(text)))
	b.ReportAllocs()
	for b.Loop() {
		r, err := textgrid.OpenXYZ("x.xyz", strings.NewReader(text), int64(len(text)))
		if err != nil {
			b.Fatal(err)
		}
		if _, err := r.Window(0, 0, side, side); err != nil {
			b.Fatal(err)
		}
	}
}
