package crs

import (
	"math"
	"strings"
)

// ParseWKT reads the definition of a system from well-known text of the first
// edition, as .prj files hold it: OGC 01-009 (section 7) in the spellings of
// OGC and of ESRI, with what writers have added. Names are compared without
// case, spaces and underscores, and never trusted alone: a system or a datum
// is taken for one of the EPSG table only if its numbers are the same to the
// decimals written. The definition is then the table's, with its code, the
// shift of its datum and its area of use; otherwise it is the text's, and
// Base.Shift is nil for a datum that is not known.
//
// A shift that the text gives itself (TOWGS84) comes before the table's. Of a
// system with heights the horizontal part is taken, and the unit of heights
// kept in VerticalUnitM.
//
// It errors, with the place in the text, on text of the second edition, on
// local and geocentric systems, and on a projection that cannot be computed;
// the message says what to do.
func ParseWKT(text string) (Definition, error) {
	w, err := readWKT(text)
	if err != nil {
		return Definition{}, err
	}
	return w.identify()
}

// written is a definition as a text has it, with how well its numbers are
// known.
type written struct {
	def     Definition
	code    int // the text's own, not yet believed
	base    int
	datum   int
	figure  [2]wktNumber // semi-major axis in metres, inverse flattening
	params  [places]wktNumber
	units   [places]float64 //unit:degrees or metres to the number's unit
	unit    wktNumber
	towgs84 *Helmert
}

func readWKT(text string) (*written, error) {
	roots, err := parseWKTTree(text)
	if err != nil {
		return nil, err
	}
	w := &written{}
	root := &roots[0]
	for i := range roots[1:] {
		if err := w.vertical(&roots[i+1]); err != nil {
			return nil, err
		}
	}
	if root.word == "COMPD_CS" {
		if err := w.vertical(root.child("VERT_CS", "VERTCS")); err != nil {
			return nil, err
		}
		flat := root.child("PROJCS", "GEOGCS", "LOCAL_CS")
		if flat == nil {
			return nil, wktFault(root.at, "COMPD_CS holds neither PROJCS nor GEOGCS; %s", reprojectHint)
		}
		root = flat
	}
	switch root.word {
	case "PROJCS":
		return w, w.projected(root)
	case "GEOGCS":
		w.def.Name, w.code = root.name(), root.authority()
		w.def.NorthFirst = northFirst(root)
		return w, w.geographic(root)
	}
	return nil, refuseWKT(root)
}

// refuseWKT says why a text of another kind is of no use.
func refuseWKT(root *wktNode) error {
	for _, k := range wkt2Keywords {
		if root.word == k {
			return wktFault(root.at, "%s is well-known text of the second edition, which is not read; write the file again with the "+
				"first (ESRI or GDAL form), name the system by its code, or %s", k, reprojectHint)
		}
	}
	switch root.word {
	case "LOCAL_CS", "ENGCRS", "ENGINEERINGCRS", "FITTED_CS":
		return wktFault(root.at, "%s %q is a grid of its own, tied to nowhere on the earth; ask the surveyor for the file in a "+
			"national system", root.word, clip(root.name(), 60))
	case "GEOCCS":
		return wktFault(root.at, "GEOCCS counts from the centre of the earth, not along the ground; %s", reprojectHint)
	case "VERT_CS", "VERTCS", "VERTCRS":
		return wktFault(root.at, "%s is a system of heights alone; name the system of the positions as well", root.word)
	}
	return wktFault(root.at, "%q begins no coordinate system (PROJCS, GEOGCS or COMPD_CS is due); check that this is a .prj file, "+
		"or name the system by its EPSG code", clip(root.word, 20))
}

// vertical keeps the unit of a system of heights; nil is none.
func (w *written) vertical(n *wktNode) error {
	if n == nil || n.word != "VERT_CS" && n.word != "VERTCS" {
		return nil
	}
	u := n.child("UNIT")
	if u == nil {
		return nil
	}
	size, err := positive(u, 1)
	w.def.VerticalUnitM = size.value
	return err
}

// positive is an argument that has to be above zero.
func positive(n *wktNode, i int) (wktNumber, error) {
	v, err := n.number(i)
	if err == nil && v.value <= 0 {
		err = wktFault(n.at, "%s is %g, which has to be above zero", n.word, v.value)
	}
	return v, err
}

// geographic reads a GEOGCS into w.def.Base.
func (w *written) geographic(n *wktNode) error {
	g := &w.def.Base
	g.Name, w.base = n.name(), n.authority()
	datum := n.child("DATUM")
	if datum == nil {
		return wktFault(n.at, "GEOGCS has no DATUM")
	}
	g.Datum, w.datum = datum.name(), datum.authority()
	s := datum.child("SPHEROID", "ELLIPSOID")
	if s == nil {
		return wktFault(datum.at, "DATUM has no SPHEROID")
	}
	a, err := positive(s, 1)
	if err != nil {
		return err
	}
	rf, err := s.number(2)
	if err != nil {
		return err
	}
	w.figure = [2]wktNumber{a, rf}
	g.Ellipsoid = Ellipsoid{SemiMajorM: a.value, InvFlatteningRatio: rf.value}
	g.AngleDeg = 1
	if u := n.child("UNIT"); u != nil {
		size, err := positive(u, 1)
		if err != nil {
			return err
		}
		g.AngleDeg = angleUnit(size)
	}
	if err := w.meridian(n.child("PRIMEM")); err != nil {
		return err
	}
	return w.shift(datum.child("TOWGS84"))
}

// angleUnit is the unit in degrees. Degrees and grads are written in radians,
// cut somewhere.
func angleUnit(size wktNumber) float64 { //unit:degrees
	for _, deg := range []float64{1, 0.9} {
		if size.meant(1, deg*radPerDegree) {
			return deg
		}
	}
	return size.value / radPerDegree
}

// meridian reads a PRIMEM. By OGC 01-009 its longitude is in the unit of the
// GEOGCS; the writers in use give degrees for the named meridians all the same.
func (w *written) meridian(n *wktNode) error {
	if n == nil {
		return nil
	}
	lon, err := n.number(1)
	if err != nil {
		return err
	}
	g := &w.def.Base
	g.MeridianDeg = lon.value * g.AngleDeg
	const sameDeg = 1e-5 // a metre; the meridians stand degrees apart
	if deg, ok := wktMeridians[plainName(n.name())]; ok && math.Abs(lon.value-deg) < sameDeg {
		g.MeridianDeg = lon.value
	}
	return nil
}

// shift reads a TOWGS84: translations in metres, rotations in seconds by the
// position vector convention, scale in parts per million (OGC 01-009, 7.1).
func (w *written) shift(n *wktNode) error {
	if n == nil {
		return nil
	}
	if len(n.args) != 3 && len(n.args) != 7 {
		return wktFault(n.at, "TOWGS84 has %d numbers, where 3 or 7 can be", len(n.args))
	}
	var v [7]float64
	for i := range n.args {
		x, err := n.number(i)
		if err != nil {
			return err
		}
		v[i] = x.value
	}
	w.towgs84 = &Helmert{v[0], v[1], v[2], v[3], v[4], v[5], v[6]}
	return nil
}

// projected reads a PROJCS.
func (w *written) projected(n *wktNode) (err error) {
	w.def.Name, w.code = n.name(), n.authority()
	g := n.child("GEOGCS")
	if g == nil {
		return wktFault(n.at, "PROJCS has no GEOGCS")
	}
	if err := w.geographic(g); err != nil {
		return err
	}
	u := n.child("UNIT")
	if u == nil {
		return wktFault(n.at, "PROJCS has no UNIT, so that its numbers may be metres or feet; ask the surveyor for the whole .prj file")
	}
	if w.unit, err = positive(u, 1); err != nil {
		return err
	}
	w.def.UnitM, w.def.NorthFirst = w.unit.value, northFirst(n)
	p := n.child("PROJECTION")
	if p == nil {
		return wktFault(n.at, "PROJCS has no PROJECTION")
	}
	m, ok := wktMethods[plainName(p.name())]
	if !ok {
		return wktFault(p.at, "the projection %q cannot be computed here; %s", clip(p.name(), 60), reprojectHint)
	}
	extra, err := w.parameters(n)
	if err != nil {
		return err
	}
	if err := w.method(n, p, m, extra); err != nil {
		return err
	}
	w.def.Params = w.values()
	return nil
}

// northFirst reports whether the axes are named northing (or latitude) first.
// Files store easting first all the same.
func northFirst(n *wktNode) bool {
	for i := range n.args {
		if a := &n.args[i]; a.word == "AXIS" && !a.quoted && len(a.args) >= 2 {
			name := strings.ToUpper(a.args[0].word)
			if strings.HasPrefix(name, "EAST") || strings.HasPrefix(name, "WEST") {
				return false // polar grids: all axes point north
			}
			return a.args[1].word == "NORTH" || a.args[1].word == "SOUTH"
		}
	}
	return false
}

// direction is where axis i points, "" unknown.
func direction(n *wktNode, i int) string {
	for k := range n.args {
		if a := &n.args[k]; a.word == "AXIS" && !a.quoted && len(a.args) >= 2 {
			if i == 0 {
				return a.args[1].word
			}
			i--
		}
	}
	return ""
}

// parameters reads every PARAMETER, and returns those without a place of their
// own by their plain names.
func (w *written) parameters(n *wktNode) (map[string]float64, error) {
	extra := map[string]float64{}
	for i := range n.args {
		p := &n.args[i]
		if p.quoted || p.word != "PARAMETER" {
			continue
		}
		v, err := p.number(1)
		if err != nil {
			return nil, err
		}
		key := plainName(p.name())
		place, known := wktParameters[key]
		switch _, neutral := wktNeutral[key]; {
		case known && !w.params[place].given:
			w.params[place] = v
		case known:
			if w.params[place].value != v.value && place != atSkew {
				return nil, wktFault(p.at, "the parameter %q is given twice with different values", clip(p.name(), 40))
			}
		case neutral:
			extra[key] = v.value
		case v.value != 0:
			return nil, wktFault(p.at, "the parameter %q is not understood; %s", clip(p.name(), 40), reprojectHint)
		}
	}
	for i := range w.units {
		switch wktPlace(i) {
		case atScale:
			w.units[i] = 1
		case atFalseEast, atFalseNorth:
			w.units[i] = w.def.UnitM
		default:
			w.units[i] = w.def.Base.AngleDeg
		}
	}
	return extra, nil
}

func (w *written) values() Params {
	v := func(p wktPlace) float64 { return w.params[p].value * w.units[p] }
	return Params{
		LatOriginDeg: v(atLatOrigin), LonOriginDeg: v(atLonOrigin),
		Parallel1Deg: v(atParallel1), Parallel2Deg: v(atParallel2), ScaleFactor: v(atScale),
		FalseEastM: v(atFalseEast), FalseNorthM: v(atFalseNorth),
		AzimuthDeg: v(atAzimuth), SkewDeg: v(atSkew),
	}
}
