package geotiff

import (
	"encoding/binary"
	"math"
	"strconv"
	"strings"

	"hemrow/geo/format"
)

// floats reads numbers of little endian, step bytes apart.
func (s sample) floats(dst []float64, src []byte, step int) {
	le := binary.LittleEndian
	var at func([]byte) float64
	switch s {
	case sample{formatFloat, 32}: // by far the most common
		for i := range dst {
			dst[i] = float64(math.Float32frombits(le.Uint32(src[i*step:])))
		}
		return
	case sample{formatFloat, 64}:
		at = func(b []byte) float64 { return math.Float64frombits(le.Uint64(b)) }
	case sample{formatUnsigned, 8}:
		at = func(b []byte) float64 { return float64(b[0]) }
	case sample{formatUnsigned, 16}:
		at = func(b []byte) float64 { return float64(le.Uint16(b)) }
	case sample{formatUnsigned, 32}:
		at = func(b []byte) float64 { return float64(le.Uint32(b)) }
	case sample{formatUnsigned, 64}:
		at = func(b []byte) float64 { return float64(le.Uint64(b)) }
	case sample{formatSigned, 8}:
		at = func(b []byte) float64 { return float64(int8(b[0])) }
	case sample{formatSigned, 16}:
		at = func(b []byte) float64 { return float64(int16(le.Uint16(b))) }
	case sample{formatSigned, 32}:
		at = func(b []byte) float64 { return float64(int32(le.Uint32(b))) }
	case sample{formatSigned, 64}:
		at = func(b []byte) float64 { return float64(int64(le.Uint64(b))) }
	}
	for i := range dst {
		dst[i] = at(src[i*step:])
	}
}

// scale turns stored numbers into heights.
type scale struct {
	none   float64 //unit:as stored; NaN for cells without height
	factor float64 //unit:the file's
	offset float64 //unit:the file's
}

func (s scale) plain() bool { return s.factor == 1 && s.offset == 0 }

// apply turns stored numbers into heights in place.
func (s scale) apply(v []float64) {
	plain := s.plain()
	for i, x := range v {
		switch {
		case x == s.none || !(math.Abs(x) <= format.TooHigh):
			v[i] = math.NaN()
		case !plain:
			v[i] = x*s.factor + s.offset
		}
	}
}

// noData reads the GDAL_NODATA field: a number as text, stored as a number of
// the raster. NaN when the raster cannot hold it.
func (d *directory) noData(s sample) (v float64, err error) {
	text, err := d.fields[tagNoData].text()
	if err != nil {
		return 0, err
	}
	v, err = strconv.ParseFloat(strings.TrimSpace(text), 64)
	if err != nil && !math.IsInf(v, 0) {
		return 0, d.src.fail("say which number stands for no height: gdal_translate -a_nodata -9999 in.tif out.tif",
			"GDAL_NODATA is %.40q, which is no number", text)
	}
	if s == (sample{formatFloat, 32}) {
		v = float64(float32(v))
	}
	return v, nil
}
