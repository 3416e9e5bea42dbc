package points

import (
	"strings"
	"unicode"
)

// role is what a column holds.
type role int

const (
	roleNone role = iota
	roleName
	roleEast
	roleNorth
	roleHeight
	roleCode
	roleOrder
	roleGroup
	roleShape
)

func (r role) String() string {
	return [...]string{"not used", "point", "easting", "northing", "height", "code", "order", "group", "shape"}[r]
}

// family says which words for coordinates belong together.
type family int

const (
	noFamily family = iota
	plane           // x, y
	grid            // easting, northing
	degrees         // longitude, latitude
)

// meaning is what the title of a column says.
type meaning struct {
	role   role
	family family
	unit   string // m, ft, us-ft, "" unsaid
	soft   bool   // a number that may be a point's or an order's
}

// vocabulary are the words for columns in small letters without accents (common
// practice, no source), one line for each meaning.
var vocabulary = [...]struct {
	role   role
	family family
	soft   bool
	words  string
}{
	{roleNorth, degrees, false, "lat latitude latitud latitudine breite breitengrad geobreite zemepisnasirka"},
	{roleEast, degrees, false, "lon lng long longitude longitud longitudine lange laenge langengrad laengengrad geolange geolaenge zemepisnadelka"},
	{roleNorth, grid, false, "n north northing northings nord nording norte norden hochwert nordwert hoch"},
	{roleEast, grid, false, "e east easting eastings est este leste ost osten ostwert rechtswert rechts"},
	{roleNorth, plane, false, "y ycoord ykoord yutm"},
	{roleEast, plane, false, "x xcoord xkoord xutm"},
	{roleHeight, noFamily, false, "z h height heights elev elevation hohe hoehe altitude alt ele quota cota altura altitud altitudine vyska wysokosc zcoord level rl"},
	{roleName, noFamily, false, "name point id pt pointname pointid pointnumber pointno ptno ptid punkt punktnr punktnummer pkt punto ponto nom nome nombre nazwa bod label station"},
	{roleName, noFamily, true, "nr no num number nummer numero"},
	{roleOrder, noFamily, false, "seq order sequence reihenfolge ordre orden ordine index idx vertex"},
	{roleCode, noFamily, false, "code desc description beschreibung descripcion descrizione descricao remark remarks note comment bemerkung pointcode featurecode kod"},
	{roleGroup, noFamily, false, "line string block part linie ligne linea parcel parcela polygon"},
	{roleShape, noFamily, false, "wkt geom geometry thegeom wktgeom geometrywkt wktgeometry"},
}

// meanings is the vocabulary by its words.
func meanings() map[string]meaning {
	out := make(map[string]meaning, 200)
	for _, v := range vocabulary {
		for _, w := range strings.Fields(v.words) {
			out[w] = meaning{role: v.role, family: v.family, soft: v.soft}
		}
	}
	return out
}

// understand says what the title of a column means.
func understand(title string, words map[string]meaning) meaning {
	tokens := strings.FieldsFunc(fold(title), func(r rune) bool { return !unicode.IsLetter(r) && !unicode.IsDigit(r) })
	tokens, unit := takeUnit(tokens)
	m, ok := words[strings.Join(tokens, "")]
	if !ok {
		var kept []string
		for _, t := range tokens {
			if !filler(t) {
				kept = append(kept, t)
			}
		}
		m = words[strings.Join(kept, "")]
	}
	m.unit = unit
	return m
}

// filler reports whether a word in a title says nothing about the column.
func filler(token string) bool {
	switch token {
	case "point", "pt", "coord", "coordinate", "coordinates", "coordinata", "coordenada", "koordinate", "koord", "pos", "position",
		"wgs84", "wgs", "84", "utm", "gps", "gnss", "grid", "map", "local", "geo", "ellipsoidal", "ortho", "msl":
		return true
	}
	return false
}

// takeUnit takes a unit off the end of a title of several words.
func takeUnit(tokens []string) (rest []string, unit string) {
	n := len(tokens)
	if n < 2 {
		return tokens, ""
	}
	switch tokens[n-1] {
	case "m", "meter", "meters", "metre", "metres", "metri", "metros":
		return tokens[:n-1], "m"
	case "usft", "ftus", "sft", "usfeet":
		return tokens[:n-1], "us-ft"
	case "ft", "feet", "foot", "fuss":
		rest = tokens[:n-1]
		for len(rest) > 1 && rest[len(rest)-1] == "survey" {
			rest = rest[:len(rest)-1]
		}
		if len(rest) > 1 && rest[len(rest)-1] == "us" {
			return rest[:len(rest)-1], "us-ft"
		}
		if len(rest) > 1 && (rest[len(rest)-1] == "int" || rest[len(rest)-1] == "intl" || rest[len(rest)-1] == "international") {
			rest = rest[:len(rest)-1]
		}
		return rest, "ft"
	case "deg", "dd", "degree", "degrees", "grad", "dms", "dm":
		return tokens[:n-1], ""
	}
	return tokens, ""
}

// accents are letters with marks and what they are without.
var accents = strings.NewReplacer(
	"ä", "a", "à", "a", "á", "a", "â", "a", "ã", "a", "å", "a", "ą", "a",
	"ç", "c", "č", "c", "ć", "c", "ď", "d", "è", "e", "é", "e", "ê", "e", "ë", "e", "ě", "e", "ę", "e",
	"ì", "i", "í", "i", "î", "i", "ï", "i", "ł", "l", "ñ", "n", "ň", "n", "ń", "n",
	"ò", "o", "ó", "o", "ô", "o", "õ", "o", "ö", "o", "ø", "o", "ř", "r", "ś", "s", "š", "s", "ß", "ss",
	"ť", "t", "ù", "u", "ú", "u", "û", "u", "ü", "u", "ů", "u", "ý", "y", "ź", "z", "ž", "z", "ż", "z",
)

// fold writes s in small letters without accents.
func fold(s string) string { return accents.Replace(strings.ToLower(s)) }
