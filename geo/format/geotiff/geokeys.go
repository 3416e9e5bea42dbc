package geotiff

import (
	"fmt"
	"math"
	"strings"

	"hemrow/geo"
	"hemrow/geo/crs"
	"hemrow/geo/format"
)

// GeoKeys by their numbers (OGC 19-008r4, 2019, section 7.5).
const (
	keyModelType     = 1024
	keyRasterType    = 1025
	keyCitation      = 1026
	keyGeographic    = 2048
	keyGeoCitation   = 2049
	keyDatum         = 2050
	keyMeridian      = 2051
	keyGeoLength     = 2052
	keyGeoLengthSize = 2053
	keyAngle         = 2054
	keyAngleSize     = 2055
	keyEllipsoid     = 2056
	keySemiMajor     = 2057
	keySemiMinor     = 2058
	keyFlattening    = 2059
	keyMeridianDeg   = 2061
	keyToWGS84       = 2062
	keyProjected     = 3072
	keyProCitation   = 3073
	keyConversion    = 3074
	keyMethod        = 3075
	keyLength        = 3076
	keyLengthSize    = 3077
	keyVertical      = 4096
	keyVerticalLen   = 4099
)

const (
	modelProjected  = 1
	modelGeographic = 2
	modelGeocentric = 3
	rasterPoint     = 2
	userDefined     = 32767
)

// geoKeys is the keys of a file by number: code, numbers or text.
type geoKeys struct {
	src     *source
	codes   map[uint16]int
	numbers map[uint16][]float64
	texts   map[uint16]string
}

// geoKeys reads the directory of keys; a file without has none.
func (d *directory) geoKeys() (*geoKeys, error) {
	k := &geoKeys{src: d.src, codes: map[uint16]int{}, numbers: map[uint16][]float64{}, texts: map[uint16]string{}}
	if !d.has(tagGeoKeys) {
		return k, nil
	}
	dir, err := d.fields[tagGeoKeys].shorts()
	if err != nil {
		return nil, err
	}
	var doubles []float64
	if d.has(tagGeoDoubles) {
		if doubles, err = d.fields[tagGeoDoubles].doubles(); err != nil {
			return nil, err
		}
	}
	var ascii string
	if d.has(tagGeoASCII) {
		b, err := d.fields[tagGeoASCII].bytes()
		if err != nil {
			return nil, err
		}
		ascii = string(b)
	}
	if len(dir) < 4 || len(dir) < 4+4*int(dir[3]) {
		return nil, d.src.fail(hintCut, "GeoKeyDirectory is cut short")
	}
	for i := 4; i < 4+4*int(dir[3]); i += 4 {
		if err := k.add(dir[i:i+4], doubles, ascii); err != nil {
			return nil, err
		}
	}
	return k, nil
}

// add takes one key: its number, where its value lies, how many and from where.
func (k *geoKeys) add(e []uint16, doubles []float64, ascii string) error {
	id, count, from := e[0], int(e[2]), int(e[3])
	cut := func(have int) error {
		if from+count > have {
			return k.src.fail(hintCut, "GeoKey %d lies past the end of its list", id)
		}
		return nil
	}
	switch e[1] {
	case 0:
		k.codes[id] = int(e[3])
	case tagGeoDoubles:
		if err := cut(len(doubles)); err != nil {
			return err
		}
		k.numbers[id] = doubles[from : from+count]
	case tagGeoASCII:
		if err := cut(len(ascii)); err != nil {
			return err
		}
		k.texts[id] = strings.TrimRight(strings.ToValidUTF8(ascii[from:from+count], ""), "|\x00 ")
	}
	return nil
}

// point reports whether the file places cells by their centres.
func (k *geoKeys) point() bool { return k.codes[keyRasterType] == rasterPoint }

// number is the first number of a key.
func (k *geoKeys) number(key uint16) (float64, bool) {
	if v := k.numbers[key]; len(v) > 0 {
		return v[0], true
	}
	v, ok := k.codes[key] // some writers put whole numbers into the directory
	return float64(v), ok
}

// code is a code of the EPSG dataset; 0 for none and for user-defined.
func (k *geoKeys) code(key uint16) int {
	if c := k.codes[key]; c != userDefined {
		return c
	}
	return 0
}

// wgs84 reports whether code is WGS84 longitude and latitude, 2-D or 3-D.
func wgs84(code int) bool { return code == 4326 || code == 4979 }

// reference says what the keys tell of the system of the plane.
func (k *geoKeys) reference() (format.Reference, error) {
	ref := format.Reference{Declared: k.declared()}
	model := k.codes[keyModelType]
	if model == modelGeocentric {
		return ref, k.src.fail("convert it: gdalwarp -t_srs EPSG:n in.tif out.tif", "the cells lie in geocentric coordinates, which is not read")
	}
	projected, geographic := k.code(keyProjected), k.code(keyGeographic)
	_, byMethod := k.codes[keyMethod]
	flat := model == modelProjected || model != modelGeographic && (projected != 0 || byMethod)
	switch {
	case flat && projected != 0:
		return k.coded(ref, projected)
	case flat && k.esri() != "":
		ref.WKT = k.esri()
	case flat:
		d, err := k.definition()
		if err != nil {
			return ref, err
		}
		ref.Definition = d
	case wgs84(geographic):
		ref.WGS84 = true
	case geographic != 0:
		ref.Code = geographic
	case k.esri() != "":
		ref.WKT = k.esri()
	case model == modelGeographic:
		base, ok, err := k.base()
		if err != nil {
			return ref, err
		}
		if ok {
			ref.Definition = &crs.Definition{Name: base.Name, Base: base}
		}
	}
	return ref, nil
}

// coded is a projected system by its code. A file may count its coordinates in
// another unit than the system does; the false origin stays where it is.
func (k *geoKeys) coded(ref format.Reference, code int) (format.Reference, error) {
	ref.Code = code
	d, err := crs.ByCode(code)
	if err != nil { // for the reader of the reference to say
		return ref, nil
	}
	unitM, err := k.unitOf(keyLength, keyLengthSize, lengthUnitsM, d.UnitM)
	if err != nil {
		return ref, err
	}
	const farM = 1e7 // from a false origin, more than any
	if farM*math.Abs(unitM/d.UnitM-1) > geo.CoincidentM {
		ref.Declared = fmt.Sprintf("EPSG:%d with coordinates in units of %.10g m", code, unitM)
		d.Name, d.Code, d.UnitM = ref.Declared, 0, unitM
		ref.Code, ref.Definition = 0, &d
	}
	return ref, nil
}

// declared is the file's own words for its system, "" if it has none.
func (k *geoKeys) declared() string {
	projected, geographic := k.code(keyProjected), k.code(keyGeographic)
	switch {
	case projected != 0:
		return fmt.Sprintf("EPSG:%d", projected)
	case geographic != 0 && k.codes[keyModelType] != modelProjected:
		return fmt.Sprintf("EPSG:%d", geographic)
	}
	for _, key := range []uint16{keyProCitation, keyCitation, keyGeoCitation} {
		if s := k.texts[key]; s != "" {
			return s
		}
	}
	if _, some := k.codes[keyModelType]; some {
		return "a system of the file's own"
	}
	return ""
}

// esri is a system as well-known text, which some writers put into a citation:
//
//	ESRI PE String = PROJCS["...
func (k *geoKeys) esri() string {
	for _, key := range []uint16{keyCitation, keyProCitation, keyGeoCitation} {
		if _, text, ok := strings.Cut(k.texts[key], "ESRI PE String = "); ok {
			return strings.TrimSpace(text)
		}
	}
	return ""
}

// heightUnitM is the unit of height that the keys give, in metres; 0 for none.
// Systems of heights are in metres but for a few (EPSG dataset v10.076, 2022,
// all 258 vertical systems). Codes up to 5106 had another meaning in GeoTIFF
// 1.0 and tell nothing; of depths the sign would be wrong.
func (k *geoKeys) heightUnitM() (float64, error) {
	system := k.code(keyVertical)
	if verticalDepths[system] {
		return 0, k.src.fail("export heights instead of depths", "the cells are depths, counted downward (EPSG:%d)", system)
	}
	if unit := k.code(keyVerticalLen); unit != 0 {
		return lengthUnitsM[unit], nil
	}
	const oldCodes, lastCode = 5106, 32766
	if m, ok := verticalUnitsM[system]; ok {
		return m, nil
	}
	if system == 3855 || system == 3886 || system == 3900 || system > oldCodes && system <= lastCode {
		return 1, nil
	}
	return 0, nil
}

// verticalUnitsM are the vertical systems not in metres.
var verticalUnitsM = map[int]float64{
	6130: geo.FootM, 6131: geo.FootM, 6132: geo.FootM, 8050: geo.FootM, 8228: geo.FootM,
	5702: geo.SurveyFootM, 6360: geo.SurveyFootM, 8052: geo.SurveyFootM, 5754: lengthUnitsM[9095],
}

// verticalDepths are the vertical systems that count downward.
var verticalDepths = func() map[int]bool {
	out := map[int]bool{}
	for _, code := range []int{
		5336, 5612, 5614, 5706, 5715, 5734, 5739, 5789, 5831, 5861, 5862, 5863, 5864, 5865, 5866, 5867, 5873,
		6357, 6358, 6359, 7976, 8051, 8053, 8358, 8378, 8897, 9287, 9288, 9672,
	} {
		out[code] = true
	}
	return out
}()

// lengthUnitsM are units of length by their EPSG codes (EPSG dataset v10.076,
// 2022).
var lengthUnitsM = map[int]float64{
	1033: 0.01, 1025: 0.001, 9001: 1, 9002: geo.FootM, 9003: geo.SurveyFootM, 9005: 0.3047972654,
	9031: 1.0000135965, 9036: 1000, 9037: 0.9143917962, 9039: 0.201166195164, 9041: 0.3047994715386762,
	9042: 20.116765121552632, 9080: 0.30479951024814694, 9081: 0.30479841, 9082: 0.3047996, 9083: 0.3047995,
	9084: 0.9143985307444408, 9094: 0.3047997101815088, 9095: 0.3048007491, 9096: geo.YardM, 9097: geo.ChainM,
	9300: 0.30479933333333337, 9301: 20.116756,
}

// angleUnitsDeg are units of angle by their EPSG codes, in degrees.
var angleUnitsDeg = map[int]float64{
	9101: 180 / math.Pi, 9102: 1, 9103: 1.0 / 60, 9104: 1.0 / 3600, 9105: 0.9, 9106: 0.9, 9122: 1,
}
