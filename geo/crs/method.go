package crs

import "fmt"

// The projection methods that can be computed, by their EPSG codes (EPSG
// dataset, coordinate operation methods).
const (
	TransverseMercator      Method = 9807
	TransverseMercatorSouth Method = 9808
	LambertConic1SP         Method = 9801
	LambertConic2SP         Method = 9802
	LambertConicBelgium     Method = 9803
	LambertConicWest        Method = 9826
	LambertConicMichigan    Method = 1051
	MercatorA               Method = 9804
	MercatorB               Method = 9805
	WebMercator             Method = 1024
	ObliqueStereographic    Method = 9809
	PolarStereographicA     Method = 9810
	PolarStereographicB     Method = 9829
	PolarStereographicC     Method = 9830
	HotineA                 Method = 9812
	HotineB                 Method = 9815
	Krovak                  Method = 9819
	KrovakEastNorth         Method = 1041
	AlbersEqualArea         Method = 9822
	LambertAzimuthal        Method = 9820
	CassiniSoldner          Method = 9806
	NewZealandMapGrid       Method = 9811
)

// String is the EPSG dataset's name of the method.
func (m Method) String() string {
	if m == 0 {
		return "longitude and latitude"
	}
	if s, ok := methods[m]; ok {
		return s.name
	}
	return fmt.Sprintf("method EPSG:%d", int(m))
}

// Supported reports whether [New] can make a system of the method.
func (m Method) Supported() bool {
	_, ok := methods[m]
	return ok || m == 0
}

// uses says which of the parameters a method takes, to check those alone.
type uses uint8

const (
	useLat uses = 1 << iota
	useParallel1
	useParallel2
	useScale
	useAzimuth
)

// method is what New must know of a method.
type method struct {
	name string
	uses uses
	// west and south say that the method itself counts westing, southing.
	west, south bool
	make        func(ellipsoid, Params) (projection, error)
}

// methods is a constant table.
var methods = map[Method]method{
	TransverseMercator: {
		name: "Transverse Mercator",
		uses: useLat | useScale, make: newTransverseMercator,
	},
	TransverseMercatorSouth: {
		name: "Transverse Mercator (South Orientated)",
		uses: useLat | useScale, west: true, south: true, make: newTransverseMercator,
	},
	LambertConic1SP: {
		name: "Lambert Conic Conformal (1SP)",
		uses: useLat | useScale, make: newLambert1SP,
	},
	LambertConic2SP: {
		name: "Lambert Conic Conformal (2SP)",
		uses: useLat | useParallel1 | useParallel2, make: newLambert2SP,
	},
	LambertConicBelgium: {
		name: "Lambert Conic Conformal (2SP Belgium)",
		uses: useLat | useParallel1 | useParallel2, make: newLambertBelgium,
	},
	LambertConicWest: {
		name: "Lambert Conic Conformal (West Orientated)",
		uses: useLat | useScale, west: true, make: newLambert1SP,
	},
	LambertConicMichigan: {
		name: "Lambert Conic Conformal (2SP Michigan)",
		uses: useLat | useParallel1 | useParallel2 | useScale, make: newLambertMichigan,
	},
	MercatorA: {
		name: "Mercator (variant A)",
		uses: useLat | useScale, make: newMercatorA,
	},
	MercatorB: {
		name: "Mercator (variant B)",
		uses: useParallel1, make: newMercatorB,
	},
	WebMercator: {
		name: "Popular Visualisation Pseudo Mercator",
		make: newWebMercator,
	},
	ObliqueStereographic: {
		name: "Oblique Stereographic",
		uses: useLat | useScale, make: newObliqueStereographic,
	},
	PolarStereographicA: {
		name: "Polar Stereographic (variant A)",
		uses: useLat | useScale, make: newPolarA,
	},
	PolarStereographicB: {
		name: "Polar Stereographic (variant B)",
		uses: useParallel1, make: newPolarB,
	},
	PolarStereographicC: {
		name: "Polar Stereographic (variant C)",
		uses: useParallel1, make: newPolarC,
	},
	HotineA: {
		name: "Hotine Oblique Mercator (variant A)",
		uses: useLat | useScale | useAzimuth, make: newHotineA,
	},
	HotineB: {
		name: "Hotine Oblique Mercator (variant B)",
		uses: useLat | useScale | useAzimuth, make: newHotineB,
	},
	Krovak: {
		name: "Krovak",
		uses: useLat | useParallel1 | useScale | useAzimuth, west: true, south: true, make: newKrovak,
	},
	KrovakEastNorth: {
		name: "Krovak (North Orientated)",
		uses: useLat | useParallel1 | useScale | useAzimuth, make: newKrovak,
	},
	AlbersEqualArea: {
		name: "Albers Equal Area",
		uses: useLat | useParallel1 | useParallel2, make: newAlbers,
	},
	LambertAzimuthal: {
		name: "Lambert Azimuthal Equal Area",
		uses: useLat, make: newLambertAzimuthal,
	},
	CassiniSoldner: {
		name: "Cassini-Soldner",
		uses: useLat, make: newCassini,
	},
	NewZealandMapGrid: {
		name: "New Zealand Map Grid",
		uses: useLat, make: newNZMapGrid,
	},
}
