package geotiff_test

import (
	"bytes"
	"compress/zlib"
	"encoding/binary"
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
)

// maker writes TIFF files for tests: what GDAL does not write, files damaged on
// purpose, and large ones. It is no part of the reader and shares nothing with
// it.
type maker struct {
	order      binary.ByteOrder
	big        bool
	cols, rows int
	tile       int // side of tiles; 0 for strips of one row
	deflate    bool
	bits       int
	format     int
	// cell is the bits of one cell.
	cell func(col, row int) uint64
	// more are further fields, which replace those of the same tag.
	more []field
}

// field is one field of a directory: values of uint8, uint16, uint32, uint64,
// float64 or a string.
type field struct {
	tag    uint16
	values any
}

// places are fields that place the raster: corner at (1000, 2000), 10 m cells.
var places = []field{
	{33550, []float64{10, 10, 0}},
	{33922, []float64{0, 0, 0, 1000, 2000, 0}},
}

func floatCell(f func(col, row int) float32) func(col, row int) uint64 {
	return func(col, row int) uint64 { return uint64(math.Float32bits(f(col, row))) }
}

func (m maker) put(b []byte, bits int, v uint64) []byte {
	switch bits {
	case 8:
		return append(b, byte(v))
	case 16:
		return m.order.(binary.AppendByteOrder).AppendUint16(b, uint16(v))
	case 32:
		return m.order.(binary.AppendByteOrder).AppendUint32(b, uint32(v))
	}
	return m.order.(binary.AppendByteOrder).AppendUint64(b, v)
}

// block is the cells of one block, packed.
func (m maker) block(tb testing.TB, col0, row0, cols, rows int) []byte {
	var b []byte
	for row := row0; row < row0+rows; row++ {
		for col := col0; col < col0+cols; col++ {
			b = m.put(b, m.bits, m.cell(col, row))
		}
	}
	if !m.deflate {
		return b
	}
	var out bytes.Buffer
	w, err := zlib.NewWriterLevel(&out, zlib.BestSpeed)
	require.NoError(tb, err)
	_, err = w.Write(b)
	require.NoError(tb, err)
	require.NoError(tb, w.Close())
	return out.Bytes()
}

// bytes is the file: header, blocks, directory, long values.
func (m maker) bytes(tb testing.TB) []byte {
	tb.Helper()
	out := []byte{'I', 'I'}
	if m.order == binary.BigEndian {
		out = []byte{'M', 'M'}
	}
	word, at := 32, 4
	out = m.put(out, 16, 42)
	if m.big {
		word, at = 64, 8
		out = append(m.put(out[:2], 16, 43), m.put(nil, 16, 8)...)
		out = m.put(out, 16, 0)
	}
	out = m.put(out, word, 0) // the place of the directory, set below
	width, height := m.cols, 1
	if m.tile > 0 {
		width, height = m.tile, m.tile
	}
	var offsets, counts []uint64
	for row := 0; row < m.rows; row += height {
		for col := 0; col < m.cols; col += width {
			b := m.block(tb, col, row, width, height)
			offsets, counts = append(offsets, uint64(len(out))), append(counts, uint64(len(b)))
			out = append(out, b...)
		}
	}
	pack := uint16(1)
	if m.deflate {
		pack = 8
	}
	fields := []field{
		{256, []uint32{uint32(m.cols)}},
		{257, []uint32{uint32(m.rows)}},
		{258, []uint16{uint16(m.bits)}},
		{259, []uint16{pack}},
		{262, []uint16{1}},
		{339, []uint16{uint16(m.format)}},
	}
	if m.tile > 0 {
		fields = append(fields, field{322, []uint32{uint32(width)}}, field{323, []uint32{uint32(height)}}, field{324, offsets}, field{325, counts})
	} else {
		fields = append(fields, field{273, offsets}, field{278, []uint16{1}}, field{279, counts})
	}
	for _, f := range slices.Concat(places, m.more) {
		fields = slices.DeleteFunc(fields, func(g field) bool { return g.tag == f.tag })
		if f.values != nil {
			fields = append(fields, f)
		}
	}
	slices.SortFunc(fields, func(a, b field) int { return int(a.tag) - int(b.tag) })
	copy(out[at:], m.put(nil, word, uint64(len(out))))
	return m.directory(out, fields)
}

// directory appends one directory, the last.
func (m maker) directory(out []byte, fields []field) []byte {
	count, entry, word := 16, 12, 32
	if m.big {
		count, entry, word = 64, 20, 64
	}
	long := len(out) + count/8 + len(fields)*entry + word/8
	out = m.put(out, count, uint64(len(fields)))
	var tail []byte
	for _, f := range fields {
		typ, n, b := m.values(f.values)
		out = m.put(m.put(out, 16, uint64(f.tag)), 16, uint64(typ))
		out = m.put(out, word, uint64(n))
		if len(b) > word/8 {
			tail, b = append(tail, b...), m.put(nil, word, uint64(long+len(tail)))
		}
		out = append(out, append(b, make([]byte, word/8-len(b))...)...)
	}
	return append(m.put(out, word, 0), tail...)
}

func (m maker) values(values any) (typ, n int, b []byte) {
	switch v := values.(type) {
	case string:
		return 2, len(v) + 1, append([]byte(v), 0)
	case []uint8:
		return 1, len(v), v
	case []uint16:
		for _, x := range v {
			b = m.put(b, 16, uint64(x))
		}
		return 3, len(v), b
	case []uint32:
		for _, x := range v {
			b = m.put(b, 32, uint64(x))
		}
		return 4, len(v), b
	case []uint64:
		if !m.big {
			for _, x := range v {
				b = m.put(b, 32, x)
			}
			return 4, len(v), b
		}
		for _, x := range v {
			b = m.put(b, 64, x)
		}
		return 16, len(v), b
	case []float64:
		for _, x := range v {
			b = m.put(b, 64, math.Float64bits(x))
		}
		return 12, len(v), b
	}
	panic("no such type in a test")
}

// small is a file of 7 x 5 floats with heights 100 col + row.
func small(more ...field) maker {
	return maker{
		order: binary.LittleEndian, cols: 7, rows: 5, bits: 32, format: 3,
		cell: floatCell(func(col, row int) float32 { return float32(100*col + row) }),
		more: more,
	}
}
