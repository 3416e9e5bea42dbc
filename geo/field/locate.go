package field

import (
	"fmt"
	"math"
	"strings"

	"hemrow/geo"
	"hemrow/geo/crs"
	"hemrow/geo/format"
)

// Locate gives a file with every position as WGS84 longitude and latitude,
// whatever system it is in: the one of spec.CRS, or else the one it declares.
//
// A file that declares none is taken as WGS84 if its numbers can be nothing
// else, and refused otherwise. Positions outside the area a system is meant
// for are noted, and refused where they fit with their numbers swapped. The
// notes say which system was read, how its datum was brought to WGS84 and how
// well that is known. Heights stay as they are, but for a system in feet whose
// heights are taken to be in the same feet.
//
// The input is not changed; features that need no change are shared with it.
func Locate(file format.File, spec Spec) (format.File, geo.Notes, error) {
	l := locator{file: &file, spec: spec}
	def, err := l.definition()
	if err != nil {
		return file, l.notes, err
	}
	if def == nil {
		return file, l.notes, nil // WGS84 as it stands
	}
	if l.system, err = systemAt(def, firstOf(&file, spec)); err != nil {
		return file, l.notes, &geo.InputError{File: file.Name, Problem: "its reference system cannot be used: " + err.Error(), Hint: convertHint}
	}
	if useGrid(def, spec.DatumGrid) {
		l.system, l.gridded = l.system.WithGrid(spec.DatumGrid), true
	}
	if l.heightM = heightUnitM(&file, spec); l.heightM == 0 {
		l.heightM, l.guessed = l.gridUnitM(), true
	}
	out := file
	out.Features = make([]format.Feature, len(file.Features))
	for i := range file.Features {
		if out.Features[i], err = l.feature(&file.Features[i]); err != nil {
			return file, l.notes, err
		}
	}
	if err := l.judgeArea(); err != nil {
		return file, l.notes, err
	}
	l.say(*def)
	out.Reference = format.Reference{WGS84: true, Declared: systemName(*def)}
	out.Turned = true
	return out, l.notes, nil
}

// useGrid reports whether a grid of datum shifts is for a system: not for those
// that are taken for WGS84 as they stand.
func useGrid(d *crs.Definition, g *crs.Grid) bool {
	return g != nil && (d.Base.Shift == nil || !d.Base.Shift.Null)
}

// systemAt is the system of a definition, with the datum shift that is best at
// a place in its coordinates. One shift serves a whole file, so that no field is
// torn at the border of two. def is given that shift.
func systemAt(def *crs.Definition, at crs.XY) (*crs.System, error) {
	s, err := crs.New(*def)
	if err != nil {
		return nil, err
	}
	ll, ok := s.ToWGS84(at)
	if !ok {
		return s, nil // refused with its place later
	}
	near := def.Near(ll)
	if near.Base.Shift == def.Base.Shift {
		return s, nil // the same still
	}
	*def = near
	return crs.New(near)
}

// firstOf is the first position of a file in its own coordinates.
func firstOf(file *format.File, spec Spec) crs.XY {
	for i := range file.Features {
		if c, ok := firstPosition(&file.Features[i]); ok {
			if spec.SwapAxes {
				return crs.XY{X: c.Y, Y: c.X}
			}
			return crs.XY{X: c.X, Y: c.Y}
		}
	}
	return crs.XY{X: math.NaN(), Y: math.NaN()}
}

// locator carries one Locate.
type locator struct {
	file   *format.File
	spec   Spec
	system *crs.System
	notes  geo.Notes

	count, away int // positions, and those outside the system's area
	awayAt      geo.LonLat
	swapFits    bool   // every position turned round lies in the area
	degrees     bool   // every pair could be longitude and latitude
	first       crs.XY // the first position as written
	place       *where // and where it stands
	coarse      int    // decimals the positions are written with
	heights     int
	heightM     float64 // size of the unit of heights
	guessed     bool    // that nobody said
	gridded     bool    // a grid of datum shifts is in use
}

// definition settles the system of the file; nil for WGS84 as it stands.
func (l *locator) definition() (*crs.Definition, error) {
	ref := l.file.Reference
	if l.spec.CRS != "" {
		return l.forced(ref)
	}
	switch {
	case ref.WGS84:
		return nil, nil
	case ref.Silent():
		return nil, l.silent()
	}
	def, err := define(ref)
	if err != nil {
		e := &geo.InputError{File: l.file.Name, Problem: fmt.Sprintf("its reference system cannot be read: %v", err), Hint: convertHint}
		if ref.Declared != "" {
			e.Problem = fmt.Sprintf("its reference system %q cannot be read: %v", ref.Declared, err)
		}
		return nil, e
	}
	return l.unlessPlain(def), nil
}

// unlessPlain is nil for longitude and latitude in degrees on WGS84 itself.
func (l *locator) unlessPlain(def crs.Definition) *crs.Definition {
	if def.Code == wgs84Code {
		l.file.Reference = format.Reference{WGS84: true, Declared: systemName(def)}
		return nil
	}
	return &def
}

// wgs84Code is EPSG's number of WGS84 longitude and latitude.
const wgs84Code = 4326

// forced takes the system the user gives over the one of the file.
func (l *locator) forced(ref format.Reference) (*crs.Definition, error) {
	def, err := crs.Parse(l.spec.CRS)
	if err != nil {
		return nil, &geo.InputError{File: l.file.Name, Problem: fmt.Sprintf("the reference system asked for cannot be read: %v", err), Hint: "name it by its number, for example EPSG:25832, by its EPSG name, or give the text of a .prj file"}
	}
	n := geo.Note{
		Code: geo.NoteSystemForced, Severity: geo.Info, Place: l.file.Name,
		Text: fmt.Sprintf("read in %s, as asked for", systemName(def)),
	}
	switch own := l.declared(ref); {
	case own == "":
	case ref.Code != 0 && ref.Code == def.Code, ref.WGS84 && def.Code == wgs84Code:
	default:
		n.Severity = geo.Caution
		n.Text += fmt.Sprintf("; the file itself says %s", own)
		n.Hint = "leave the system out to follow the file"
	}
	l.notes = append(l.notes, n)
	return l.unlessPlain(def), nil
}

func (l *locator) declared(ref format.Reference) string {
	switch {
	case ref.Silent():
		return ""
	case ref.Declared != "":
		return fmt.Sprintf("%q", ref.Declared)
	case ref.WGS84:
		return "WGS84, by its format"
	}
	return "another one"
}

// spanDeg is how wide a file without a reference system may be for its numbers
// to pass as degrees: 20 km, wider than any orchard, and far narrower than a
// field in metres would be in the same numbers.
const spanDeg = 0.2

// silent judges a file that says nothing: WGS84 if the numbers can be degrees
// of one place, an error otherwise.
func (l *locator) silent() error {
	x := box{math.Inf(1), math.Inf(1), math.Inf(-1), math.Inf(-1)}
	n := 0
	valid := true
	var first format.Coord
	each(l.file, func(c format.Coord) {
		p := geo.LonLat{LonDeg: c.X, LatDeg: c.Y}
		if l.spec.SwapAxes {
			p = geo.LonLat{LonDeg: c.Y, LatDeg: c.X}
		}
		if n == 0 || valid && !p.Valid() {
			first = c
		}
		n++
		valid = valid && p.Valid()
		x.add(p)
	})
	if n == 0 {
		l.file.Reference.WGS84 = true
		return nil
	}
	if valid && max(x.e-x.w, x.n-x.s) < spanDeg && !(x.w <= 0 && x.e >= 0 && x.s <= 0 && x.n >= 0) {
		l.file.Reference.WGS84 = true
		l.notes = append(l.notes, geo.Note{
			Code: geo.NoteSystemAssumed, Severity: geo.Caution, Place: l.file.Name,
			Text: fmt.Sprintf("the file does not say in which reference system its coordinates are; they were taken as WGS84 longitude and latitude, which puts them near %s",
				geo.LonLat{LonDeg: (x.w + x.e) / 2, LatDeg: (x.s + x.n) / 2}),
			Hint: "make sure that this is the place; if not, name the system with crs",
		})
		return nil
	}
	e := &geo.InputError{File: l.file.Name, Problem: "the file does not say in which reference system its coordinates are"}
	if !valid {
		e.Problem += "; " + notDegrees(first.X, first.Y)
	}
	e.Hint = l.nameSystem(first)
	return e
}

// nameSystem is what to do about a file whose system nobody knows. The
// proposals are systems whose area its numbers lie in: those near the field if
// that is known, which are few, else the likelier ones of many.
func (l *locator) nameSystem(c format.Coord) string {
	key, flag := "crs", "--crs"
	if l.spec.keyCRS != "" {
		key, flag = l.spec.keyCRS, "--"+strings.ReplaceAll(l.spec.keyCRS, "_", "-")
	}
	return fmt.Sprintf("ask who delivered it, and name the system with %s, for example %s EPSG:25832", key, flag) + proposals(c, l.spec.near)
}

// mostProposed is how many systems a hint names.
const mostProposed = 5

func proposals(c format.Coord, near *geo.LonLat) string {
	var w []string
	for _, d := range crs.Candidates(c.X, c.Y, near) {
		if len(w) < mostProposed {
			w = append(w, systemName(d))
		}
	}
	s := ""
	if looksUTM(c.X, c.Y) && near == nil {
		s = "; if it is UTM, that is EPSG:326 and the two digits of the zone in the north, EPSG:327 in the south, or EPSG:258 on ETRS89"
	}
	switch {
	case len(w) == 0:
		return s
	case near != nil:
		return s + "; near the field they would lie in " + strings.Join(w, ", ")
	}
	return s + "; of national grids they would fit, among others, " + strings.Join(w, ", ")
}

// each calls use for every position of the file.
func each(file *format.File, use func(format.Coord)) {
	for i := range file.Features {
		file.Features[i].Each(func(c *format.Coord) { use(*c) })
	}
}

// feature is a copy of f in longitude and latitude.
func (l *locator) feature(f *format.Feature) (format.Feature, error) {
	out := *f
	w := where{file: l.file.Name, feature: f}
	var err error
	if f.Polygons != nil {
		out.Polygons = make([]format.Polygon, len(f.Polygons))
	}
	for k, p := range f.Polygons {
		at := w
		if len(f.Polygons) > 1 {
			at.part = k + 1
		}
		out.Polygons[k] = make(format.Polygon, len(p))
		for h, r := range p {
			if out.Polygons[k][h], err = l.ring(at, h, r); err != nil {
				return out, err
			}
		}
	}
	if f.Lines != nil {
		out.Lines = make([][]format.Coord, len(f.Lines))
	}
	for k, line := range f.Lines {
		if out.Lines[k], err = l.ring(w, 0, line); err != nil {
			return out, err
		}
	}
	if f.Points != nil {
		out.Points, err = l.ring(w, 0, f.Points)
	}
	return out, err
}

func (l *locator) ring(w where, hole int, in []format.Coord) ([]format.Coord, error) {
	out := make([]format.Coord, len(in))
	for v, c := range in {
		ll, err := l.turn(w, hole, v+1, c)
		if err != nil {
			return nil, err
		}
		out[v] = format.Coord{X: ll.LonDeg, Y: ll.LatDeg, Z: c.Z * l.heightM}
	}
	return out, nil
}

// heightUnitM is the size of the unit of heights that the user or the file
// says, in metres; 0 if neither does.
func heightUnitM(file *format.File, spec Spec) float64 { //unit:metres
	if spec.HeightUnitM > 0 {
		return spec.HeightUnitM
	}
	for i := range file.Features {
		switch file.Features[i].Properties["height_unit"] {
		case "ft":
			return geo.FootM
		case "us-ft":
			return geo.SurveyFootM
		case "m":
			return 1
		}
	}
	return 0
}

// unitOfHeights is the size of the unit of heights of a located file in metres:
// 1 where Locate has turned them.
func unitOfHeights(file *format.File, spec Spec) float64 { //unit:metres
	if u := heightUnitM(file, spec); u > 0 && !file.Turned {
		return u
	}
	return 1
}

// gridUnitM is the unit that heights are taken to be in where nobody says:
// that of the grid's axes.
func (l *locator) gridUnitM() float64 { //unit:metres
	if d := l.system.Definition(); d.Method != 0 && d.UnitM > 0 {
		return d.UnitM
	}
	return 1
}

// turn brings one position to WGS84.
func (l *locator) turn(w where, hole, vertex int, c format.Coord) (geo.LonLat, error) {
	in := crs.XY{X: c.X, Y: c.Y}
	if l.spec.SwapAxes {
		in = crs.XY{X: c.Y, Y: c.X}
	}
	if math.IsNaN(c.X-c.X) || math.IsNaN(c.Y-c.Y) {
		e := w.input(hole, vertex, nil)
		e.Problem = fmt.Sprintf("position (%v, %v) is not a pair of finite numbers", c.X, c.Y)
		return geo.LonLat{}, e
	}
	l.look(w, in, c)
	ll, ok := l.system.ToWGS84(in)
	if !ok || !ll.Valid() {
		e := w.input(hole, vertex, nil)
		e.Problem = fmt.Sprintf("position (%v, %v) cannot be in %s", c.X, c.Y, l.system.Name())
		e.Hint = l.nameSystem(c)
		if l.gridded {
			e.Problem += ", or lies outside the grid of datum shifts"
		}
		return geo.LonLat{}, e
	}
	if d := l.system.Definition(); d.Bounds != nil && !d.Bounds.Contains(ll) {
		if l.away == 0 {
			l.awayAt = ll
		}
		l.away++
		if l.swapFits {
			turned, ok := l.system.ToWGS84(crs.XY{X: in.Y, Y: in.X})
			l.swapFits = ok && d.Bounds.Contains(turned)
		}
	}
	return ll, nil
}

// look gathers what the numbers as written tell.
func (l *locator) look(w where, in crs.XY, c format.Coord) {
	if l.count == 0 {
		l.first, l.place, l.swapFits, l.degrees = in, &w, true, true
	}
	l.count++
	l.degrees = l.degrees && math.Abs(in.X) <= 180 && math.Abs(in.Y) <= 90
	l.coarse = moreDecimals(l.coarse, c)
	if c.HasZ() {
		l.heights++
	}
}

// judgeArea refuses or notes positions outside the area of the system.
func (l *locator) judgeArea() error {
	d := l.system.Definition()
	if l.away == 0 {
		return nil
	}
	e := l.place.input(0, 0, nil)
	switch {
	case l.degrees && d.Method != 0:
		e.Problem = fmt.Sprintf("x = %v, y = %v look like degrees, but %s counts in metres or feet", l.first.X, l.first.Y, l.system.Name())
		e.Hint = "if they are longitude and latitude, say --crs EPSG:4326"
		return e
	case l.swapFits && l.away == l.count && !l.spec.SwapAxes:
		e.Problem = fmt.Sprintf("easting and northing look swapped: as written the file lies at %s, outside the area of %s; swapped it lies inside", l.awayAt, l.system.Name())
		e.Hint = "set swap_axes if northing comes first"
		return e
	case l.swapFits && l.away == l.count:
		e.Problem = fmt.Sprintf("with northing first the file lies at %s, outside the area of %s; with easting first it lies inside", l.awayAt, l.system.Name())
		e.Hint = "leave swap_axes off"
		return e
	}
	b := d.Bounds
	l.notes = append(l.notes, geo.Note{
		Code: geo.NoteOutsideArea, Severity: geo.Caution, Place: l.file.Name,
		Text: fmt.Sprintf("%d of %s lie outside the area that %s is meant for (%.1f to %.1f east, %.1f to %.1f north), the first at %s",
			l.away, geo.Counted(l.count, "position"), l.system.Name(), b.WestDeg, b.EastDeg, b.SouthDeg, b.NorthDeg, l.awayAt),
		Hint:  "check that this is the place: a wrong zone moves a field by hundreds of kilometres",
		Value: float64(l.away), Unit: "positions",
	})
	return nil
}

// say notes what was done.
func (l *locator) say(d crs.Definition) {
	if l.count == 0 {
		return
	}
	l.notes = append(l.notes, geo.Note{
		Code: geo.NoteSystem, Severity: geo.Info, Place: l.file.Name,
		Text:  fmt.Sprintf("coordinates turned from %s into WGS84 longitude and latitude", systemName(d)),
		Value: float64(l.count), Unit: "positions",
	})
	if l.gridded {
		l.notes = append(l.notes, d.GridNote(l.spec.DatumGrid, l.file.Name))
	} else {
		l.notes = append(l.notes, d.DatumNotes(l.file.Name)...)
	}
	if l.spec.SwapAxes {
		l.notes = append(l.notes, geo.Note{Code: geo.NoteAxesSwapped, Severity: geo.Caution, Place: l.file.Name, Text: "positions read as northing, easting"})
	}
	stepM := math.Pow10(-l.coarse) * d.UnitM
	if d.Method == 0 {
		stepM = math.Pow10(-l.coarse) * d.Base.AngleDeg * kmPerDeg * 1000
	}
	if l.coarse < maxDecimals && stepM > coarseM {
		l.notes = append(l.notes, roundedNote(l.file.Name, l.coarse, stepM))
	}
	if l.heights > 0 && l.guessed && l.heightM != 1 {
		l.notes = append(l.notes, geo.Note{
			Code: geo.NoteHeightUnit, Severity: geo.Info, Place: l.file.Name,
			Text: "heights were taken to be in the unit of the grid, " + unitName(l.heightM), Value: l.heightM, Unit: "m",
		})
	}
}

// unitName names a unit of length by its size.
func unitName(unitM float64) string {
	switch unitM {
	case geo.FootM:
		return "feet"
	case geo.SurveyFootM:
		return "US survey feet"
	}
	return fmt.Sprintf("%v m", unitM)
}

// coarseM is the step of written positions from which on it is noted: a
// decimetre, like five decimals of a degree are.
const coarseM = 0.11

func roundedNote(place string, decimals int, stepM float64) geo.Note {
	return geo.Note{
		Code: geo.NoteRounded, Severity: geo.Caution, Place: place,
		Text:  fmt.Sprintf("positions are written with %d decimals, in steps of %.3g m; rows will not be better", decimals, stepM),
		Hint:  "export the outline with more decimals",
		Value: stepM, Unit: "m",
	}
}

// systemName is a system's name with its number.
func systemName(d crs.Definition) string {
	name := d.Name
	if name == "" {
		name = "an unnamed system"
	}
	if d.Code != 0 {
		name += fmt.Sprintf(" (EPSG:%d)", d.Code)
	}
	return name
}

// Define looks up the system of a reference once, for callers that locate many
// pieces of one file: where the text or number can be read, the reference that
// is returned has its definition instead.
func Define(ref format.Reference) format.Reference {
	d, err := define(ref)
	if err != nil || ref.WGS84 || ref.Silent() {
		return ref
	}
	return format.Reference{Declared: ref.Declared, Definition: &d}
}

// define reads what a reference says of its system.
func define(ref format.Reference) (crs.Definition, error) {
	switch {
	case ref.Definition != nil:
		return *ref.Definition, nil
	case ref.Code != 0:
		return crs.ByCode(ref.Code)
	}
	return crs.ParseWKT(ref.WKT)
}
