package geotiff

import "encoding/binary"

// undo turns an unpacked block into numbers of little endian: it swaps bytes
// where the file is of big endian and takes back the predictor, row by row.
// scratch is as long as a row.
func (im *image) undo(b, scratch []byte, bigEndian bool) {
	row := int(im.rowBytes())
	if im.predictor == predictFloat {
		for ; len(b) >= row; b = b[row:] {
			sumBytes(b[:row], int(im.samples))
			gather(b[:row], scratch, int(im.sample.bytes()))
		}
		return
	}
	if bigEndian {
		swap(b, int(im.sample.bytes()))
	}
	if im.predictor == predictWhole {
		for ; len(b) >= row; b = b[row:] {
			sumNumbers(b[:row], int(im.samples), int(im.sample.bytes()))
		}
	}
}

// swap turns each number of size bytes around.
func swap(b []byte, size int) {
	switch size {
	case 2:
		for i := 0; i+2 <= len(b); i += 2 {
			binary.LittleEndian.PutUint16(b[i:], binary.BigEndian.Uint16(b[i:]))
		}
	case 4:
		for i := 0; i+4 <= len(b); i += 4 {
			binary.LittleEndian.PutUint32(b[i:], binary.BigEndian.Uint32(b[i:]))
		}
	case 8:
		for i := 0; i+8 <= len(b); i += 8 {
			binary.LittleEndian.PutUint64(b[i:], binary.BigEndian.Uint64(b[i:]))
		}
	}
}

// sumNumbers takes back predictor 2 (TIFF 6.0 section 14): each number is
// written as its difference to that of the cell before, floats by their bits.
func sumNumbers(row []byte, samples, size int) {
	step := samples * size
	le := binary.LittleEndian
	switch size {
	case 1:
		sumBytes(row, samples)
	case 2:
		for i := step; i+2 <= len(row); i += 2 {
			le.PutUint16(row[i:], le.Uint16(row[i:])+le.Uint16(row[i-step:]))
		}
	case 4:
		for i := step; i+4 <= len(row); i += 4 {
			le.PutUint32(row[i:], le.Uint32(row[i:])+le.Uint32(row[i-step:]))
		}
	case 8:
		for i := step; i+8 <= len(row); i += 8 {
			le.PutUint64(row[i:], le.Uint64(row[i:])+le.Uint64(row[i-step:]))
		}
	}
}

func sumBytes(row []byte, step int) {
	for i := step; i < len(row); i++ {
		row[i] += row[i-step]
	}
}

// gather takes back the second half of predictor 3 (TIFF technical note 3,
// 2005): all highest bytes of a row come first, whatever the byte order.
//
//	file:   a3 b3 c3  a2 b2 c2  a1 b1 c1  a0 b0 c0
//	memory: a0 a1 a2 a3  b0 b1 b2 b3  c0 c1 c2 c3
func gather(row, scratch []byte, size int) {
	copy(scratch, row)
	n := len(row) / size
	for k := range size {
		plane := scratch[(size-1-k)*n : (size-k)*n]
		for i, v := range plane {
			row[i*size+k] = v
		}
	}
}
