package geotiff

import (
	"bufio"
	"compress/zlib"
	"errors"
	"fmt"
	"io"
	"math"

	"hemrow/geo/format"
)

// maxHeld is how many bytes of unpacked blocks are kept for later windows. It
// is two rows of tiles of 256 x 256 floats across 16,000 cells.
const maxHeld = 32 << 20

// held is an unpacked block, in numbers of little endian.
type held struct {
	number uint64
	bytes  []byte
}

// part is a stretch of a block that a window needs, in cells of the block.
type part struct {
	number                 uint64 // of the block
	col0, row0, cols, rows int
}

// span is where a block lies in the file; n 0 when the file leaves it out.
func (r *Raster) span(p part) (off, n uint64, err error) {
	if off, err = r.image.offsets.uint(p.number); err != nil {
		return 0, 0, err
	}
	if r.image.counts.count == 0 {
		return off, r.image.rowsOf(p.number/r.image.across) * r.image.rowBytes(), nil
	}
	if n, err = r.image.counts.uint(p.number); err != nil || off == 0 {
		return off, 0, err
	}
	return off, n, r.src.within(off, n, r.blockName(p.number))
}

// blockName is a block for messages.
func (r *Raster) blockName(number uint64) string {
	kind := "strip"
	if r.image.tiled {
		kind = "tile"
	}
	im := &r.image
	return fmt.Sprintf("%s %d (from column %d, row %d)", kind, number+1,
		number%im.across*im.block.width+1, number/im.across*im.block.height+1)
}

// read puts the cells of p into g, its first cell at (col, row) of g.
func (r *Raster) read(p part, g *format.Grid, col, row int) error {
	off, n, err := r.span(p)
	if err != nil {
		return err
	}
	line := func(k int) []float64 {
		at := (row+k)*g.Cols + col
		return g.Heights[at : at+p.cols]
	}
	switch {
	case n == 0:
		for k := range p.rows {
			v := line(k)
			for i := range v {
				v[i] = math.NaN()
			}
		}
		return nil
	case r.image.pack == packNone:
		return r.readPlain(p, off, n, line)
	}
	b, err := r.unpacked(p.number, off, n)
	if err != nil {
		return err
	}
	step := int(r.image.cellBytes())
	for k := range p.rows {
		from := (p.row0+k)*int(r.image.rowBytes()) + p.col0*step
		r.image.sample.floats(line(k), b[from:], step)
	}
	return nil
}

// readPlain reads the cells of an uncompressed block straight from the file,
// however large the block is.
func (r *Raster) readPlain(p part, off, n uint64, line func(int) []float64) error {
	im := &r.image
	step := im.cellBytes()
	var buf []byte
	for k := range p.rows {
		from := uint64(p.row0+k)*im.rowBytes() + uint64(p.col0)*step
		length := uint64(p.cols-1)*step + im.sample.bytes()
		if from+length > n {
			return r.src.fail(hintCut, "%s holds %d bytes, too few for its cells", r.blockName(p.number), n)
		}
		if err := r.src.within(off+from, length, r.blockName(p.number)); err != nil {
			return err
		}
		if buf == nil {
			buf = make([]byte, length)
		}
		if err := r.src.fill(buf, off+from, r.blockName(p.number)); err != nil {
			return err
		}
		if r.src.bigEndian() {
			swap(buf, int(im.sample.bytes()))
		}
		im.sample.floats(line(k), buf, int(step))
	}
	return nil
}

// unpacked is a compressed block, kept or fresh.
func (r *Raster) unpacked(number, off, n uint64) ([]byte, error) {
	for i, h := range r.kept {
		if h.number == number {
			copy(r.kept[1:i+1], r.kept[:i]) // latest first
			r.kept[0] = h
			return h.bytes, nil
		}
	}
	im := &r.image
	b := make([]byte, im.rowsOf(number/im.across)*im.rowBytes())
	if err := r.unpack(b, io.NewSectionReader(r.src.r, int64(off), int64(n))); err != nil {
		name := r.blockName(number)
		if errors.Is(err, io.ErrUnexpectedEOF) {
			return nil, r.src.fail(hintCut, "%s at byte %d ends before its cells do", name, off)
		}
		return nil, r.src.fail(hintCut, "%s at byte %d cannot be unpacked: %v", name, off, err)
	}
	im.undo(b, make([]byte, im.rowBytes()), r.src.bigEndian())
	r.keep(held{number, b})
	return b, nil
}

// keep holds h and lets go of those not used for longest.
func (r *Raster) keep(h held) {
	r.kept = append(r.kept, held{})
	copy(r.kept[1:], r.kept)
	r.kept[0] = h
	total := 0
	for i, k := range r.kept {
		if total += len(k.bytes); total > maxHeld && i > 0 {
			clear(r.kept[i:])
			r.kept = r.kept[:i]
			return
		}
	}
}

// unpack fills dst from the compressed bytes of in.
func (r *Raster) unpack(dst []byte, in io.Reader) error {
	if r.buffer == nil {
		r.buffer = bufio.NewReader(nil)
	}
	r.buffer.Reset(in)
	switch r.image.pack {
	case packLZW:
		if r.lzw == nil {
			r.lzw = newLZWTable()
		}
		return r.lzw.unpack(dst, r.buffer)
	case packPackBits:
		return unpackBits(dst, r.buffer)
	}
	return r.inflate(dst)
}

// inflate fills dst by deflate; where the data end with it, the checksum
// behind them is compared.
func (r *Raster) inflate(dst []byte) (err error) {
	if r.zlib == nil {
		r.zlib, err = zlib.NewReader(r.buffer)
	} else {
		err = r.zlib.(zlib.Resetter).Reset(r.buffer, nil)
	}
	if err != nil {
		r.zlib = nil // not to be used again
		return short(err)
	}
	if _, err := io.ReadFull(r.zlib, dst); err != nil {
		return short(err)
	}
	var more [1]byte
	if n, err := r.zlib.Read(more[:]); n == 0 && err != nil && !errors.Is(err, io.EOF) {
		return short(err)
	}
	return nil
}
