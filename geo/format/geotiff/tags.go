package geotiff

import (
	"math"
	"strings"
)

// Tags by their numbers: TIFF 6.0 (1992), OGC GeoTIFF 1.1 (2019) annex on
// tags, and the two private ones of GDAL (its GeoTIFF driver page).
const (
	tagNewSubfile     = 254
	tagOldSubfile     = 255
	tagWidth          = 256
	tagHeight         = 257
	tagBits           = 258
	tagCompression    = 259
	tagPhotometric    = 262
	tagFillOrder      = 266
	tagStripOffsets   = 273
	tagSamples        = 277
	tagRowsPerStrip   = 278
	tagStripCounts    = 279
	tagPlanar         = 284
	tagPredictor      = 317
	tagTileWidth      = 322
	tagTileHeight     = 323
	tagTileOffsets    = 324
	tagTileCounts     = 325
	tagSampleFormat   = 339
	tagPixelScale     = 33550
	tagTiepoint       = 33922
	tagTransformation = 34264
	tagGeoKeys        = 34735
	tagGeoDoubles     = 34736
	tagGeoASCII       = 34737
	tagMetadata       = 42112
	tagNoData         = 42113
)

// typeBytes is the size of a value by field type (TIFF 6.0 section 2; BigTIFF
// adds 16, 17 and 18), 0 for types unknown.
var typeBytes = [19]uint64{
	1: 1, 2: 1, 3: 2, 4: 4, 5: 8, 6: 1, 7: 1, 8: 2, 9: 4, 10: 8, 11: 4, 12: 8, 13: 4, 16: 8, 17: 8, 18: 8,
}

// Field types that are read.
const (
	typeByte   = 1
	typeASCII  = 2
	typeShort  = 3
	typeLong   = 4
	typeDouble = 12
	typeIFD    = 13
	typeLong8  = 16
	typeIFD8   = 18
)

// entry is one field of a directory. Its values lie at off, in the entry
// itself when they are short; nothing is read until asked for.
type entry struct {
	src   *source
	tag   uint16
	typ   uint16
	count uint64
	off   uint64
}

// maxValues is how many values of a tag are read at once. Lists of blocks may
// be longer and are read one by one.
const maxValues = 1 << 20

// uint is value i of a field of whole numbers.
func (e entry) uint(i uint64) (uint64, error) {
	if i >= e.count {
		return 0, e.src.fail(hintCut, "%s holds %d values, value %d is needed", tagName(e.tag), e.count, i+1)
	}
	var buf [8]byte
	size := typeBytes[e.typ] // directories hold known types only
	off := e.off + i*size    // within the file, checked with the entry
	if err := e.src.fill(buf[:size], off, tagName(e.tag)); err != nil {
		return 0, err
	}
	switch e.typ {
	case typeByte:
		return uint64(buf[0]), nil
	case typeShort:
		return uint64(e.src.order.Uint16(buf[:])), nil
	case typeLong, typeIFD:
		return uint64(e.src.order.Uint32(buf[:])), nil
	case typeLong8, typeIFD8:
		return e.src.order.Uint64(buf[:]), nil
	}
	return 0, e.src.fail(hintCut, "%s is of type %d where a whole number is expected", tagName(e.tag), e.typ)
}

// bytes is all values as they lie in the file.
func (e entry) bytes() ([]byte, error) {
	if e.count > maxValues {
		return nil, e.src.fail(hintCut, "%s holds %d values; at most %d are read", tagName(e.tag), e.count, maxValues)
	}
	return e.src.at(e.off, e.count*typeBytes[e.typ], tagName(e.tag))
}

// text is a field of characters up to the first NUL.
func (e entry) text() (string, error) {
	if e.typ != typeASCII && e.typ != typeByte {
		return "", e.src.fail(hintCut, "%s is of type %d where text is expected", tagName(e.tag), e.typ)
	}
	b, err := e.bytes()
	s, _, _ := strings.Cut(string(b), "\x00")
	return strings.TrimSpace(s), err
}

// shorts is a field of whole numbers of 16 bits.
func (e entry) shorts() ([]uint16, error) {
	if e.typ != typeShort {
		return nil, e.src.fail(hintCut, "%s is of type %d where numbers of 16 bits are expected", tagName(e.tag), e.typ)
	}
	b, err := e.bytes()
	out := make([]uint16, len(b)/2)
	for i := range out {
		out[i] = e.src.order.Uint16(b[2*i:])
	}
	return out, err
}

// doubles is a field of floats, all finite.
func (e entry) doubles() ([]float64, error) {
	if e.typ != typeDouble {
		return nil, e.src.fail(hintCut, "%s is of type %d where floats of 64 bits are expected", tagName(e.tag), e.typ)
	}
	b, err := e.bytes()
	if err != nil {
		return nil, err
	}
	out := make([]float64, len(b)/8)
	for i := range out {
		out[i] = math.Float64frombits(e.src.order.Uint64(b[8*i:]))
		if math.IsNaN(out[i]) || math.IsInf(out[i], 0) {
			return nil, e.src.fail(hintCut, "%s: value %d is no finite number", tagName(e.tag), i+1)
		}
	}
	return out, nil
}
