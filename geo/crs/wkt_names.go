package crs

import (
	"strings"
	"unicode"
	"unicode/utf8"
)

// plainName is a name without case, spaces, underscores and signs, by which
// the spellings of different writers are one. A plus tells CH1903+ from CH1903.
func plainName(name string) string {
	var b strings.Builder
	for _, r := range name {
		if inPlain(r) {
			b.WriteRune(unicode.ToLower(r))
		}
	}
	return b.String()
}

func inPlain(r rune) bool { return unicode.IsLetter(r) || unicode.IsDigit(r) || r == '+' }

// plainDatum leaves out what writers put before or behind the name of a datum
// or of a geographic system.
func plainDatum(name string) string {
	return strings.TrimSuffix(plainName(bareDatum(name)), ensemble)
}

const ensemble = "ensemble"

func bareDatum(name string) string {
	for _, prefix := range [...]string{"D_", "GCS_"} {
		if n := len(prefix); len(name) >= n && strings.EqualFold(name[:n], prefix) {
			return name[n:]
		}
	}
	return name
}

// samePlainDatum reports whether plain is plainDatum(name), without making it:
// a search asks it of every line of the table. plain is itself one.
func samePlainDatum(plain, name string) bool {
	name = bareDatum(name)
	for i, r := range name {
		if !inPlain(r) {
			continue
		}
		first, size := utf8.DecodeRuneInString(plain)
		if plain == "" {
			return plainName(name[i:]) == ensemble
		}
		if unicode.ToLower(r) != first {
			return false
		}
		plain = plain[size:]
	}
	return plain == ""
}

// wktMethods are the names of projections in well-known texts of OGC 01-009
// with the later additions in use, and of ESRI (from memory; the test texts
// hold what PROJ 9.1.1 writes). Names that stand for two methods, told apart
// by parameters, are in wktMethod.
var wktMethods = map[string]Method{
	"transversemercator":                        TransverseMercator,
	"gausskruger":                               TransverseMercator,
	"transversemercatorsouthorientated":         TransverseMercatorSouth,
	"transversemercatorsouthoriented":           TransverseMercatorSouth,
	"lambertconformalconic":                     LambertConic2SP,
	"lambertconformalconic1sp":                  LambertConic1SP,
	"lambertconformalconic2sp":                  LambertConic2SP,
	"lambertconformalconic2spbelgium":           LambertConicBelgium,
	"lambertconformalconic2spmichigan":          LambertConicMichigan,
	"lambertconicconformal1sp":                  LambertConic1SP,
	"lambertconicconformal2sp":                  LambertConic2SP,
	"lambertconicconformal2spbelgium":           LambertConicBelgium,
	"lambertconicconformal2spmichigan":          LambertConicMichigan,
	"lambertconicconformalwestorientated":       LambertConicWest,
	"mercator":                                  MercatorB,
	"mercator1sp":                               MercatorA,
	"mercator2sp":                               MercatorB,
	"mercatorvarianta":                          MercatorA,
	"mercatorvariantb":                          MercatorB,
	"mercatorauxiliarysphere":                   WebMercator,
	"popularvisualisationpseudomercator":        WebMercator,
	"obliquestereographic":                      ObliqueStereographic,
	"doublestereographic":                       ObliqueStereographic,
	"polarstereographic":                        PolarStereographicA,
	"polarstereographicvarianta":                PolarStereographicA,
	"polarstereographicvariantb":                PolarStereographicB,
	"polarstereographicvariantc":                PolarStereographicC,
	"stereographicnorthpole":                    PolarStereographicB,
	"stereographicsouthpole":                    PolarStereographicB,
	"hotineobliquemercator":                     HotineA,
	"hotineobliquemercatorvarianta":             HotineA,
	"hotineobliquemercatorvariantb":             HotineB,
	"hotineobliquemercatorazimuthnaturalorigin": HotineA,
	"rectifiedskeworthomorphicnaturalorigin":    HotineA,
	"hotineobliquemercatorazimuthcenter":        HotineB,
	"rectifiedskeworthomorphiccenter":           HotineB,
	"obliquemercator":                           HotineB,
	"swissobliquecylindrical":                   HotineB,
	"swissobliquemercator":                      HotineB,
	"krovak":                                    KrovakEastNorth,
	"krovaknorthorientated":                     KrovakEastNorth,
	"albers":                                    AlbersEqualArea,
	"albersconicequalarea":                      AlbersEqualArea,
	"albersequalarea":                           AlbersEqualArea,
	"lambertazimuthalequalarea":                 LambertAzimuthal,
	"cassini":                                   CassiniSoldner,
	"cassinisoldner":                            CassiniSoldner,
	"newzealandmapgrid":                         NewZealandMapGrid,
}

// wktPlace is the place of a parameter in Params, in the order of its fields.
type wktPlace int

const (
	atLatOrigin wktPlace = iota
	atLonOrigin
	atParallel1
	atParallel2
	atScale
	atFalseEast
	atFalseNorth
	atAzimuth
	atSkew
	places
)

// wktParameters are the names of parameters in well-known texts.
var wktParameters = map[string]wktPlace{
	"latitudeoforigin":                  atLatOrigin,
	"latitudeofcenter":                  atLatOrigin,
	"latitudeofcentre":                  atLatOrigin,
	"latitudeofnaturalorigin":           atLatOrigin,
	"centralmeridian":                   atLonOrigin,
	"longitudeoforigin":                 atLonOrigin,
	"longitudeofcenter":                 atLonOrigin,
	"longitudeofcentre":                 atLonOrigin,
	"longitudeofnaturalorigin":          atLonOrigin,
	"straightverticallongitudefrompole": atLonOrigin,
	"standardparallel1":                 atParallel1,
	"pseudostandardparallel1":           atParallel1,
	"latitudeofstandardparallel":        atParallel1,
	"standardparallel2":                 atParallel2,
	"scalefactor":                       atScale,
	"scalefactoratnaturalorigin":        atScale,
	"ellipsoidscalingfactor":            atScale,
	"falseeasting":                      atFalseEast,
	"falsenorthing":                     atFalseNorth,
	"eastingatfalseorigin":              atFalseEast,
	"northingatfalseorigin":             atFalseNorth,
	"azimuth":                           atAzimuth,
	"rectifiedgridangle":                atSkew,
	"xyplanerotation":                   atSkew,
}

// wktNeutral are parameters that change nothing while they have this value.
var wktNeutral = map[string]float64{"auxiliaryspheretype": 0, "xscale": 1, "yscale": 1, "option": 0}

// wktMeridians are prime meridians that some writers give in degrees whatever
// the unit of the system (EPSG dataset, prime meridians 8901 to 8914).
var wktMeridians = map[string]float64{
	"paris": 2.33722917, "lisbon": -9.131906111111, "bogota": -74.080916666667, "madrid": -3.687938888889,
	"rome": 12.452333333333, "bern": 7.439583333333, "jakarta": 106.807719444444, "ferro": -17.666666666667,
	"brussels": 4.367975, "stockholm": 18.058277777778, "athens": 23.7163375, "oslo": 10.722916666667,
	"parisrgs": 2.337208333333,
}

// wkt2Keywords begin a text of the second edition, ISO 19162.
var wkt2Keywords = []string{
	"PROJCRS", "PROJECTEDCRS", "GEOGCRS", "GEOGRAPHICCRS", "GEODCRS", "GEODETICCRS",
	"BOUNDCRS", "COMPOUNDCRS", "DERIVEDPROJCRS",
}
