package geotiff

import (
	"fmt"
	"math"

	"hemrow/geo/crs"
)

// GeoKeys of a projection's parameters (OGC 19-008r4, 2019, section 7.5).
const (
	keyParallel1     = 3078
	keyParallel2     = 3079
	keyNatLon        = 3080
	keyNatLat        = 3081
	keyFalseEast     = 3082
	keyFalseNorth    = 3083
	keyFalseLon      = 3084
	keyFalseLat      = 3085
	keyFalseOriginE  = 3086
	keyFalseOriginN  = 3087
	keyCentreLon     = 3088
	keyCentreLat     = 3089
	keyCentreEast    = 3090
	keyCentreNorth   = 3091
	keyScaleAtNat    = 3092
	keyScaleAtCentre = 3093
	keyAzimuth       = 3094
	keyPoleLon       = 3095
	keySkew          = 3096
)

// methods are the projection methods by their GeoTIFF codes (GeoTIFF 1.0,
// 1995, section 6.3.3.3; HotineB as written in practice).
var methods = map[int]crs.Method{
	1: crs.TransverseMercator, 3: crs.HotineA, 7: crs.MercatorA, 8: crs.LambertConic2SP, 9: crs.LambertConic1SP,
	10: crs.LambertAzimuthal, 11: crs.AlbersEqualArea, 15: crs.PolarStereographicA, 16: crs.ObliqueStereographic,
	18: crs.CassiniSoldner, 26: crs.NewZealandMapGrid, 27: crs.TransverseMercatorSouth,
	9815: crs.HotineB,
}

// definition makes a system of the file's own parameters; nil when its method
// or its datum is not known, which the reader of the reference must refuse.
func (k *geoKeys) definition() (*crs.Definition, error) {
	base, ok, err := k.base()
	if err != nil || !ok {
		return nil, err
	}
	d := crs.Definition{Name: k.declared(), Base: base}
	if d.UnitM, err = k.unitOf(keyLength, keyLengthSize, lengthUnitsM, 1); err != nil {
		return nil, err
	}
	angleDeg, err := k.angleDeg()
	if err != nil {
		return nil, err
	}
	if zone := k.code(keyConversion); zone != 0 {
		d.Method, d.Params, ok = utm(zone)
	} else {
		d.Method, ok = methods[k.code(keyMethod)]
		d.Params = k.params(d.UnitM, angleDeg)
		d.Method = variant(d.Method, d.Params)
	}
	if !ok {
		return nil, nil
	}
	// A system that the parameters do not make is refused here, where the file
	// is known.
	if _, err := crs.New(d); err != nil {
		return nil, k.src.fail("write the file again with an EPSG code: gdal_translate -a_srs EPSG:n in.tif out.tif",
			"the file's own system: %v", err)
	}
	return &d, nil
}

// utm is the projection of a UTM zone by its EPSG code: 160zz north, 161zz
// south.
func utm(code int) (crs.Method, crs.Params, bool) {
	zone, half := code%100, code/100
	if half != 160 && half != 161 || zone < 1 || zone > 60 {
		return 0, crs.Params{}, false
	}
	p := crs.Params{LonOriginDeg: float64(6*zone - 183), ScaleFactor: 0.9996, FalseEastM: 500_000}
	if half == 161 {
		p.FalseNorthM = 10_000_000
	}
	return crs.TransverseMercator, p, true
}

// variant picks among methods that share a GeoTIFF code by the parameters.
func variant(m crs.Method, p crs.Params) crs.Method {
	switch {
	case m == crs.MercatorA && p.Parallel1Deg != 0:
		return crs.MercatorB
	case m == crs.PolarStereographicA && math.Abs(p.LatOriginDeg) != 90:
		return crs.PolarStereographicB
	}
	return m
}

// params gathers the parameters. Writers differ in which of the keys for an
// origin they use, so that the first one present counts.
func (k *geoKeys) params(unitM, angleDeg float64) crs.Params {
	first := func(def float64, keys ...uint16) float64 {
		for _, key := range keys {
			if v, ok := k.number(key); ok {
				return v
			}
		}
		return def
	}
	p := crs.Params{
		LatOriginDeg: angleDeg * first(0, keyNatLat, keyFalseLat, keyCentreLat),
		LonOriginDeg: angleDeg * first(0, keyNatLon, keyPoleLon, keyFalseLon, keyCentreLon),
		Parallel1Deg: angleDeg * first(0, keyParallel1),
		Parallel2Deg: angleDeg * first(0, keyParallel2),
		ScaleFactor:  first(1, keyScaleAtNat, keyScaleAtCentre),
		FalseEastM:   unitM * first(0, keyFalseEast, keyFalseOriginE, keyCentreEast),
		FalseNorthM:  unitM * first(0, keyFalseNorth, keyFalseOriginN, keyCentreNorth),
		AzimuthDeg:   first(0, keyAzimuth),
	}
	p.SkewDeg = first(p.AzimuthDeg, keySkew)
	if m := methods[k.code(keyMethod)]; variant(m, p) == crs.PolarStereographicB {
		p.Parallel1Deg, p.LatOriginDeg = p.LatOriginDeg, 0
	}
	return p
}

// unitOf is a unit by its code or its own size; def without either.
func (k *geoKeys) unitOf(key, sizeKey uint16, known map[int]float64, def float64) (float64, error) {
	code, some := k.codes[key]
	if !some {
		return def, nil
	}
	v, ok := known[code]
	if code == userDefined {
		v, ok = k.number(sizeKey)
	}
	if !ok || !(v > 0) {
		return 0, k.src.fail("write the file again with an EPSG code: gdal_translate -a_srs EPSG:n in.tif out.tif",
			"the file's own system has a unit (code %d) that is not known", code)
	}
	return v, nil
}

// angleDeg is the unit of angles in degrees; its own size is in radians.
func (k *geoKeys) angleDeg() (float64, error) {
	v, err := k.unitOf(keyAngle, keyAngleSize, angleUnitsDeg, 1)
	if k.codes[keyAngle] == userDefined {
		v *= angleUnitsDeg[9101]
	}
	return v, err
}

// ellipsoids by their EPSG codes (EPSG dataset v10.076, 2022): those of the
// datums in use for field work.
var ellipsoids = map[int]crs.Ellipsoid{
	7001: {SemiMajorM: 6377563.396, InvFlatteningRatio: 299.3249646},
	7003: {SemiMajorM: 6378160, InvFlatteningRatio: 298.25},
	7004: {SemiMajorM: 6377397.155, InvFlatteningRatio: 299.1528128},
	7008: {SemiMajorM: 6378206.4, InvFlatteningRatio: 294.978698213898},
	7011: {SemiMajorM: 6378249.2, InvFlatteningRatio: 293.466021293627},
	7012: {SemiMajorM: 6378249.145, InvFlatteningRatio: 293.465},
	7019: {SemiMajorM: 6378137, InvFlatteningRatio: 298.257222101},
	7022: {SemiMajorM: 6378388, InvFlatteningRatio: 297},
	7024: {SemiMajorM: 6378245, InvFlatteningRatio: 298.3},
	7030: {SemiMajorM: 6378137, InvFlatteningRatio: 298.257223563},
	7036: {SemiMajorM: 6378160, InvFlatteningRatio: 298.247167427},
	7043: {SemiMajorM: 6378135, InvFlatteningRatio: 298.26},
}

// base is the longitude and latitude under a projection, or the system itself.
// Not ok: the file does not say enough.
func (k *geoKeys) base() (g crs.Geographic, ok bool, err error) {
	const step = 2000 // of EPSG codes from the first geographic systems to their datums
	for _, code := range []int{k.code(keyGeographic), k.code(keyDatum) - step} {
		if d, err := crs.ByCode(code); code > 0 && err == nil && d.Method == 0 {
			g, ok = d.Base, true
			break
		}
	}
	if !ok {
		g, ok = crs.Geographic{Datum: k.texts[keyGeoCitation]}, true
		if g.Ellipsoid, ok, err = k.ellipsoid(); err != nil || !ok {
			return g, false, err
		}
		if code, v := k.codes[keyMeridian], 0.0; code == userDefined || code == 0 {
			v, _ = k.number(keyMeridianDeg)
			g.MeridianDeg = v
		} else if code != greenwich {
			return g, false, nil
		}
	}
	if g.Name == "" {
		g.Name = k.texts[keyGeoCitation]
	}
	angle, err := k.angleDeg()
	if err != nil {
		return g, false, err
	}
	if g.AngleDeg == 0 || k.codes[keyAngle] != 0 {
		g.AngleDeg = angle
	}
	return g, ok, k.shift(&g)
}

// greenwich is the EPSG code of the prime meridian.
const greenwich = 8901

// ellipsoid is the figure of the file's own datum.
func (k *geoKeys) ellipsoid() (e crs.Ellipsoid, ok bool, err error) {
	a, own := k.number(keySemiMajor)
	if !own {
		e, ok = ellipsoids[k.code(keyEllipsoid)]
		return e, ok, nil
	}
	unitM, err := k.unitOf(keyGeoLength, keyGeoLengthSize, lengthUnitsM, 1)
	if err != nil {
		return e, false, err
	}
	e.SemiMajorM = a * unitM
	if inv, ok := k.number(keyFlattening); ok {
		e.InvFlatteningRatio = inv
	} else if b, ok := k.number(keySemiMinor); ok && b != a {
		e.InvFlatteningRatio = a / (a - b)
	} else if !ok {
		return e, false, nil
	}
	return e, true, nil
}

// shift takes the file's own step to WGS84, if it gives one: three or seven
// numbers in the position vector convention (OGC 01-009, TOWGS84).
func (k *geoKeys) shift(g *crs.Geographic) error {
	v := k.numbers[keyToWGS84]
	if len(v) == 0 {
		return nil
	}
	if len(v) != 3 && len(v) != 7 {
		return k.src.fail(hintCut, "the file's own datum shift has %d numbers; 3 or 7 are expected", len(v))
	}
	h := crs.Helmert{DXM: v[0], DYM: v[1], DZM: v[2]}
	if len(v) == 7 {
		h.RXSec, h.RYSec, h.RZSec, h.ScalePPM = v[3], v[4], v[5], v[6]
	}
	g.Shift = &crs.Shift{Helmert: h, Source: fmt.Sprintf("GeoKey %d of the file", keyToWGS84)}
	return nil
}
