package crs

import (
	"math"
	"strings"
)

// method settles which method a text means: some names stand for two, told
// apart by their parameters and axes.
func (w *written) method(n, p *wktNode, m Method, extra map[string]float64) error {
	w.def.Method = m
	if err := w.settle(n, p, m, extra); err != nil {
		return err
	}
	return w.unused(p)
}

// unused refuses a parameter that the method does not take, unless it changes
// nothing.
func (w *written) unused(p *wktNode) error {
	taken := methods[w.def.Method].uses
	for _, c := range []struct {
		place wktPlace
		use   uses
		name  string
		plain float64 //unit:as the place
	}{
		{atLatOrigin, useLat, "latitude of origin", 0},
		{atParallel1, useParallel1, "standard parallel", 0},
		{atParallel2, useParallel2, "second standard parallel", 0},
		{atScale, useScale, "scale factor", 1},
		{atAzimuth, useAzimuth, "azimuth", 0},
		{atSkew, useAzimuth, "angle of the grid", 0},
	} {
		v := w.params[c.place]
		if !v.given || taken&c.use != 0 {
			continue
		}
		if v.value != c.plain {
			return wktFault(p.at, "%s takes no %s, which is %g; %s", clip(p.name(), 40), c.name, v.value, reprojectHint)
		}
		w.params[c.place] = wktNumber{}
	}
	return nil
}

func (w *written) settle(n, p *wktNode, m Method, extra map[string]float64) error {
	switch m {
	case TransverseMercator, TransverseMercatorSouth:
		w.transverse(n)
	case LambertConic1SP, LambertConic2SP, LambertConicMichigan:
		return w.lambert(p)
	case MercatorA, MercatorB, WebMercator:
		return w.mercator(n, p, extra)
	case PolarStereographicA, PolarStereographicB:
		return w.polar(p)
	case HotineA, HotineB:
		w.oblique()
	case Krovak, KrovakEastNorth:
		w.krovak(n, extra)
		return nil // its plane is turned by the two scales
	case ObliqueStereographic, LambertConicWest:
		w.defaultScale()
	}
	for key, v := range extra {
		if v != wktNeutral[key] {
			return wktFault(p.at, "the parameter %s of %s is %g, which is not understood; %s", key, p.name(), v, reprojectHint)
		}
	}
	return nil
}

// set gives a parameter a value that the text implies.
func (w *written) set(place wktPlace, v float64) { //unit:as the place
	w.params[place] = wktNumber{value: v, given: true}
}

func (w *written) defaultScale() {
	if !w.params[atScale].given {
		w.set(atScale, 1)
	}
}

func (w *written) transverse(n *wktNode) {
	w.defaultScale()
	if w.params[atScale].value < 0 { // ESRI's way to turn the axes round
		w.def.Method = TransverseMercatorSouth
		w.params[atScale].value *= -1
	}
	w.def.WestSouth = w.def.Method == TransverseMercatorSouth
}

// lambert: one standard parallel with a scale factor, or two without.
func (w *written) lambert(p *wktNode) error {
	p1, p2, lat := w.params[atParallel1], w.params[atParallel2], w.params[atLatOrigin]
	k := w.params[atScale]
	switch {
	case w.def.Method == LambertConicMichigan:
		w.defaultScale()
	case p2.given && (!k.given || k.value == 1):
		w.def.Method = LambertConic2SP
		w.params[atScale] = wktNumber{}
	case p2.given:
		w.def.Method = LambertConicMichigan
	case !p1.given || !lat.given || p1.value == lat.value:
		w.def.Method = LambertConic1SP
		if !lat.given {
			w.params[atLatOrigin] = p1
		}
		w.params[atParallel1] = wktNumber{}
		w.defaultScale()
	case !k.given || k.value == 1:
		w.def.Method = LambertConic2SP // both parallels are the one
		w.params[atParallel2], w.params[atScale] = p1, wktNumber{}
	default:
		return wktFault(p.at, "%s has a standard parallel, another latitude of origin and a scale factor, which no method takes together; %s",
			p.name(), reprojectHint)
	}
	return nil
}

// mercator tells the two variants and the web's from each other.
func (w *written) mercator(n, p *wktNode, extra map[string]float64) error {
	sphere := w.def.Base.Ellipsoid.InvFlatteningRatio == 0 && w.def.Base.Ellipsoid.SemiMajorM == wgs84Ellipsoid.SemiMajorM
	plain := w.params[atParallel1].value == 0 && (!w.params[atScale].given || w.params[atScale].value == 1)
	if w.def.Method == WebMercator || plain && (sphere || webExtension(n.child("EXTENSION"))) {
		if !plain || extra["auxiliaryspheretype"] != 0 {
			return wktFault(p.at, "%s on another sphere than that of the semi-major axis cannot be computed here; %s", p.name(), reprojectHint)
		}
		w.def.Method = WebMercator
		w.params[atLatOrigin], w.params[atParallel1], w.params[atScale] = wktNumber{}, wktNumber{}, wktNumber{}
		if sphere { // its latitudes are those of WGS 84 taken as they are
			w.def.Base.Ellipsoid, w.base, w.datum = wgs84Ellipsoid, 4326, 0
			w.figure = [2]wktNumber{{value: wgs84Ellipsoid.SemiMajorM}, {value: wgs84Ellipsoid.InvFlatteningRatio}}
		}
		return nil
	}
	if w.params[atParallel1].value == 0 { // on the equator both are one
		w.def.Method = MercatorA
		w.params[atParallel1] = wktNumber{}
		w.defaultScale()
	} else {
		w.def.Method = MercatorB
		w.params[atScale] = wktNumber{}
	}
	return nil
}

// webExtension reports whether a writer added that Mercator is meant on a
// sphere with the latitudes of the ellipsoid.
func webExtension(n *wktNode) bool {
	if n == nil || len(n.args) < 2 || !strings.EqualFold(n.args[0].word, "PROJ4") {
		return false
	}
	t := n.args[1].word + " "
	return strings.Contains(t, "+proj=merc ") && strings.Contains(t, "+b=6378137 ") && strings.Contains(t, "+nadgrids=@null ")
}

// polar: the latitude of origin is a pole, with a scale factor there, or the
// standard parallel.
func (w *written) polar(p *wktNode) error {
	lat := w.params[atParallel1]
	if !lat.given {
		lat = w.params[atLatOrigin]
	}
	if !lat.given || lat.value == 0 {
		return wktFault(p.at, "%s says neither a pole nor a standard parallel", p.name())
	}
	if math.Abs(lat.value*w.units[atLatOrigin]) == 90 {
		w.def.Method = PolarStereographicA
		w.params[atLatOrigin], w.params[atParallel1] = lat, wktNumber{}
		w.defaultScale()
		return nil
	}
	if k := w.params[atScale]; k.given && k.value != 1 {
		return wktFault(p.at, "%s has a standard parallel and a scale factor, which no method takes together; %s", p.name(), reprojectHint)
	}
	w.def.Method = PolarStereographicB
	w.params[atLatOrigin], w.params[atScale], w.params[atParallel1] = wktNumber{}, wktNumber{}, lat
	return nil
}

// oblique fills in what the Swiss names leave out: an initial line that runs
// east, and a grid that is not skew to it.
func (w *written) oblique() {
	w.defaultScale()
	if !w.params[atAzimuth].given {
		w.params[atAzimuth] = wktNumber{value: 90 / w.units[atAzimuth], given: true}
	}
	if !w.params[atSkew].given {
		w.params[atSkew] = w.params[atAzimuth]
	}
}

// krovak tells southing and westing from easting and northing: by the axes, or
// by ESRI's turn of the plane; without either it is east and north, which most
// writers mean who leave out the axes.
func (w *written) krovak(n *wktNode, extra map[string]float64) {
	w.def.Method = KrovakEastNorth
	sx, turned := extra["xscale"]
	switch {
	case direction(n, 0) == "SOUTH" || direction(n, 0) == "WEST":
		w.def.Method = Krovak
	case turned && sx > 0 && w.params[atSkew].value == 0:
		w.def.Method = Krovak
	case !turned && direction(n, 0) == "" && w.saysSouth():
		w.def.Method = Krovak
	}
	w.def.WestSouth = w.def.Method == Krovak
	w.params[atSkew] = wktNumber{}
	w.defaultScale()
}

// saysSouth: the code that the text carries is one of the southing systems.
func (w *written) saysSouth() bool {
	d, err := ByCode(w.code)
	return w.code != 0 && err == nil && d.Method == Krovak
}
