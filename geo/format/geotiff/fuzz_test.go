package geotiff_test

import (
	"encoding/binary"
	"math"
	"os"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hemrow/geo"
)

// FuzzOpen: nothing panics, every refusal says what is wrong, no height is
// infinite, and a window is that part of the whole.
func FuzzOpen(f *testing.F) {
	data, err := os.ReadFile(hill)
	require.NoError(f, err)
	f.Add(data)
	for _, order := range []binary.ByteOrder{binary.LittleEndian, binary.BigEndian} {
		for _, tile := range []int{0, 16} {
			for _, deflate := range []bool{false, true} {
				m := small(field{42113, "-9999"}, field{42112, `<GDALMetadata><Item sample="0" role="scale">2</Item></GDALMetadata>`},
					field{34735, []uint16{
						1, 1, 0, 6, 1024, 0, 1, 1, 2056, 0, 1, 7030, 3072, 0, 1, 32767, 3075, 0, 1, 1,
						3076, 0, 1, 9002, 3092, 34736, 1, 0,
					}}, field{34736, []float64{0.9996}}, field{34737, "own|"})
				m.order, m.tile, m.deflate, m.big = order, tile, deflate, tile == 0
				f.Add(m.bytes(f))
			}
		}
		for _, pack := range []uint16{5, 8, 32773} {
			m := small(field{259, []uint16{pack}}, field{317, []uint16{3}})
			m.order = order
			f.Add(m.bytes(f))
		}
	}
	f.Add([]byte("II*\x00"))
	f.Fuzz(func(t *testing.T, in []byte) {
		r, err := openBytes(in)
		if err != nil {
			var e *geo.InputError
			require.ErrorAs(t, err, &e)
			assert.NotEmpty(t, e.Problem)
			return
		}
		l := r.Layout()
		cols, rows := min(l.Cols, 300), min(l.Rows, 300)
		g, err := r.Window(0, 0, cols, rows)
		if err != nil {
			var e *geo.InputError
			require.ErrorAs(t, err, &e)
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
	})
}
