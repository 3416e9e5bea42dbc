package field

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"hemrow/geo"
	"hemrow/geo/format"
)

const convertHint = "convert the file to WGS84 longitude and latitude first, for example: ogr2ogr -s_srs EPSG:… -t_srs EPSG:4326 new.geojson old.file"

// maxAcrossM is the widest field that is taken: lengths in the frame are good
// to 1 mm per km up to 50 km (see geo.Frame).
const maxAcrossM = 50e3

// kmPerDeg is the mean length of a degree of latitude in km, for rough sizes:
// the meridian quadrant of WGS84, 10001.966 km, over 90.
const kmPerDeg = 111.133

// lonLat reads a position as the Spec says.
func (b *builder) lonLat(c format.Coord) geo.LonLat {
	if b.swap {
		return geo.LonLat{LonDeg: c.Y, LatDeg: c.X}
	}
	return geo.LonLat{LonDeg: c.X, LatDeg: c.Y}
}

// judge refuses a position that cannot be longitude and latitude. hole and
// vertex count from 1.
func (b *builder) judge(w where, hole, vertex int, c format.Coord) error {
	p := b.lonLat(c)
	if p.Valid() && !(p.LonDeg == 0 && p.LatDeg == 0) {
		return nil
	}
	e := w.input(hole, vertex, nil)
	x, y := p.LonDeg, p.LatDeg
	switch {
	case x-x != 0 || y-y != 0:
		e.Problem = fmt.Sprintf("position (%v, %v) is not a pair of finite numbers", c.X, c.Y)
	case x == 0 && y == 0:
		e.Problem = "position is 0, 0, in the sea off Africa: a receiver without a fix writes it"
		e.Hint = "remove the vertex or survey it again"
	case math.Abs(x) <= 90 && math.Abs(y) <= 360:
		e.Problem = fmt.Sprintf("%v is no latitude: longitude and latitude look swapped", y)
		e.Hint = "set swap_axes if positions are latitude first"
		if b.swap {
			e.Hint = "positions are longitude first already: leave swap_axes off"
		}
	default:
		e.Problem = notDegrees(c.X, c.Y)
		e.Hint = (&locator{spec: b.spec}).nameSystem(c)
	}
	return e
}

// notDegrees says what coordinates that are no degrees look like, as far as
// arithmetic tells.
func notDegrees(x, y float64) string {
	s := fmt.Sprintf("x = %s is no longitude", plainNumber(x))
	if math.Abs(x) <= 360 {
		s = fmt.Sprintf("y = %s is no latitude", plainNumber(y))
	}
	s += ": these look like projected metres"
	lat := func(northing float64) float64 { return northing / 0.9996 / (kmPerDeg * 1000) }
	zoned := math.Floor(x / 1e6)
	easting := x - zoned*1e6
	plausible := looksUTM(easting, y)
	switch {
	case plausible && zoned == 0:
		var w []string
		if n := lat(y); n < 84 {
			w = append(w, fmt.Sprintf("north of the equator, near latitude %.0f", n))
		}
		if south := lat(1e7 - y); south < 80 {
			w = append(w, fmt.Sprintf("south of it, near latitude -%.0f", south))
		}
		s += " (perhaps UTM: then " + strings.Join(w, ", or ") + "; the numbers do not tell the zone)"
	case plausible && zoned >= 1 && zoned <= 60:
		s += fmt.Sprintf(" (perhaps a transverse Mercator grid that writes its zone, %.0f, before the easting)", zoned)
	case math.Abs(x) <= 20037509 && math.Abs(y) <= 20048967:
		s += " (perhaps Web Mercator or a national grid)"
	}
	return s
}

// plainNumber prints a number as files have it, without an exponent.
func plainNumber(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }

// looksUTM reports whether numbers lie where those of UTM do.
func looksUTM(x, y float64) bool { return x >= 1e5 && x <= 9e5 && y > 0 && y < 1e7 }

// unwrapper brings longitudes to the side of the antimeridian of the first.
type unwrapper struct {
	lon0  float64 //unit:degrees
	begun bool
	moved int
}

func (u *unwrapper) lon(lonDeg float64) float64 { //unit:degrees
	if !u.begun {
		u.lon0, u.begun = lonDeg, true
	}
	switch d := lonDeg - u.lon0; {
	case d > 180:
		u.moved++
		return lonDeg - 360
	case d < -180:
		u.moved++
		return lonDeg + 360
	}
	return lonDeg
}

// box is a box of longitudes (unwrapped) and latitudes.
type box struct{ w, s, e, n float64 } //unit:degrees

func (x *box) add(p geo.LonLat) {
	x.w, x.e = min(x.w, p.LonDeg), max(x.e, p.LonDeg)
	x.s, x.n = min(x.s, p.LatDeg), max(x.n, p.LatDeg)
}

// across is the size of the box in metres, to a percent.
func (x box) across() (eastM, northM float64) {
	lat := min(math.Abs(x.s), math.Abs(x.n))
	if x.s < 0 && x.n > 0 {
		lat = 0
	}
	const m = kmPerDeg * 1000
	return (x.e - x.w) * m * math.Cos(lat*math.Pi/180), (x.n - x.s) * m
}

// setFrame judges every position of the chosen polygons and centres the frame
// on their box.
func (b *builder) setFrame(file *format.File, chosen []part) error {
	x := box{math.Inf(1), math.Inf(1), math.Inf(-1), math.Inf(-1)}
	var u unwrapper
	decimals := 0
	for _, p := range chosen {
		if err := b.ctx.Err(); err != nil {
			return err
		}
		for h, r := range p.rings {
			for v, c := range r {
				if err := b.judge(p.where, h, v+1, c); err != nil {
					return err
				}
				at := b.lonLat(c)
				at.LonDeg = u.lon(at.LonDeg)
				x.add(at)
				decimals = moreDecimals(decimals, c)
			}
		}
	}
	if !u.begun {
		return &geo.InputError{File: file.Name, Problem: "the outline has no vertices"}
	}
	if err := b.centre(file, chosen, x); err != nil {
		return err
	}
	b.noteReading(file, u, decimals, x)
	return nil
}

func (b *builder) centre(file *format.File, chosen []part, x box) error {
	east, north := x.across()
	if across := max(east, north); across > maxAcrossM {
		e := &geo.InputError{
			File: file.Name, Problem: fmt.Sprintf("the field would be %.0f km across, more than %.0f km", across/1000, maxAcrossM/1000),
			Hint: "look for a stray vertex or a feature elsewhere, or plan the parts as fields of their own",
		}
		if at, ok := b.loneSwap(chosen); ok {
			e.Problem += fmt.Sprintf("; with its numbers swapped, %s would lie beside the others", at)
		}
		return e
	}
	mid := geo.LonLat{LonDeg: geo.WrapLonDeg((x.w + x.e) / 2), LatDeg: (x.s + x.n) / 2}
	f, ok := geo.NewFrame(mid)
	if !ok {
		return &geo.InputError{File: file.Name, At: &mid, Problem: "the field lies within 1 degree of a pole"}
	}
	b.frame = f
	return nil
}

// loneSwap finds a vertex far from the first one that would be within a
// degree of it if its numbers were swapped.
func (b *builder) loneSwap(chosen []part) (place string, ok bool) {
	first := chosen[0].rings[0][0]
	for _, p := range chosen {
		for h, r := range p.rings {
			for v, c := range r {
				if math.Abs(c.X-first.X) > 1 && math.Abs(c.Y-first.X) < 1 && math.Abs(c.X-first.Y) < 1 {
					return p.input(h, v+1, nil).Place(), true
				}
			}
		}
	}
	return "", false
}

func (b *builder) noteReading(file *format.File, u unwrapper, decimals int, x box) {
	if b.swap {
		b.note(geo.Note{Code: geo.NoteAxesSwapped, Severity: geo.Caution, Place: file.Name, Text: "positions read as latitude, longitude"})
	}
	if u.moved > 0 {
		b.note(geo.Note{
			Code: geo.NoteAntimeridian, Severity: geo.Info, Place: file.Name,
			Text:  "the outline crosses the 180th meridian; its longitudes were joined",
			Value: float64(u.moved), Unit: "vertices",
		})
	}
	if decimals < maxDecimals && !file.Turned {
		b.note(roundedNote(file.Name, decimals, math.Pow10(-decimals)*kmPerDeg*1000))
	}
	if east, north := x.across(); max(east, north) > maxAcrossM*0.4 {
		b.note(geo.Note{
			Code: geo.NoteWideField, Severity: geo.Info,
			Text:  fmt.Sprintf("the field is %.0f km across; lengths in its plane are long by up to 4e-7", max(east, north)/1000),
			Value: max(east, north), Unit: "m", Limit: maxAcrossM,
		})
	}
}

// maxDecimals is where counting stops: six decimals, 0.1 m, pass unnoticed.
const maxDecimals = 6

// moreDecimals is the larger of n and the decimals c is written with, at most
// maxDecimals. A number with d decimals, as parsed, is the float64 nearest to
// a whole number over 10^d, and so is that quotient: equality is exact.
func moreDecimals(n int, c format.Coord) int {
	for _, v := range [2]float64{c.X, c.Y} {
		for n < maxDecimals && math.Round(v*math.Pow10(n))/math.Pow10(n) != v {
			n++
		}
	}
	return n
}
