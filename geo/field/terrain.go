package field

import (
	"context"
	"errors"
	"fmt"
	"math"
	"strings"

	"github.com/paulmach/orb"

	"hemrow/geo"
	"hemrow/geo/crs"
	"hemrow/geo/format"
	"hemrow/geo/terrain"
)

// Survey is one file of heights: a raster, or points and lines.
type Survey struct {
	Raster format.Raster // nil for points and lines
	File   format.File   // the points and lines
}

// TerrainSpec says how files of heights become a surface. The zero value
// follows the files.
type TerrainSpec struct {
	// CRS is the reference system of files that do not say theirs.
	CRS string
	// DatumGrid replaces a published datum shift by a surveyed grid, as for the
	// outline; nil for none. Systems that are taken for WGS84 do not need it.
	DatumGrid *crs.Grid
	// HeightUnitM is the size of the unit of heights in metres, whatever the
	// files say; 0 follows them.
	HeightUnitM float64
	// Bicubic takes heights between the cells of a grid from sixteen of them
	// instead of four.
	Bicubic bool
	// LongestSideM is the longest side of a triangle at the rim of survey
	// points; 0 for the usual rule of terrain.TINOptions.
	LongestSideM float64
}

// Relief is what the terrain of a field is like, for people.
type Relief struct {
	terrain.Ground
	Method string // how heights are found between the data
}

// Terrain gives a field the surface that its surveys make. Rasters are read
// for the field and its surroundings only; tiles of one grid are joined.
// Points and the vertices of lines of all files make one surface of triangles,
// with lines (contour lines, break lines) along its edges. Rasters and points
// do not mix.
//
// The field's frame takes the mean height of its blocks. A survey that does
// not touch the field is refused with the distance; one that covers only part
// of it is noted.
func Terrain(ctx context.Context, f geo.Field, surveys []Survey, breaks []format.File, spec TerrainSpec) (geo.Field, Relief, geo.Notes, error) {
	m := ground{ctx: ctx, field: f, spec: spec}
	s, err := m.surface(surveys, breaks)
	if err != nil {
		return f, Relief{}, m.notes, err
	}
	var blocks []orb.Polygon
	for _, b := range f.Blocks {
		blocks = append(blocks, b.Outline)
	}
	r := Relief{Ground: terrain.Relief(s, f.Frame, blocks), Method: s.Describe()}
	if r.CoveredRatio == 0 {
		return f, r, m.notes, m.apart(surveys, s)
	}
	f.Surface = s
	f.Frame = f.Frame.WithHeight(r.MeanM)
	m.say(f, r)
	return f, r, m.notes, nil
}

// ground carries one Terrain.
type ground struct {
	ctx   context.Context
	field geo.Field
	spec  TerrainSpec
	notes geo.Notes
}

func (m *ground) note(n geo.Note) { m.notes = append(m.notes, n) }

func (m *ground) surface(surveys []Survey, breaks []format.File) (terrain.Surface, error) {
	var rasters, points []Survey
	for _, s := range surveys {
		if s.Raster != nil {
			rasters = append(rasters, s)
		} else {
			points = append(points, s)
		}
	}
	switch {
	case len(rasters) > 0 && len(points) > 0:
		return nil, &geo.InputError{
			File: points[0].File.Name, Problem: fmt.Sprintf("survey points beside the grid of %s: only one of them can be the ground", rasters[0].File.Name),
			Hint: "give the better of the two alone",
		}
	case len(rasters) > 0 && len(breaks) > 0:
		return nil, &geo.InputError{
			File: breaks[0].Name, Problem: "break lines cannot bend a grid of heights, only triangles between survey points",
			Hint: "leave break_lines out, or give survey points",
		}
	case len(rasters) > 0:
		return m.grid(rasters)
	}
	return m.triangles(points, breaks)
}

// aroundM is how far beyond the field heights are read: the headland outside
// a row's end, and the reach of an obstacle.
const aroundM = awayM

// around is the box of the field with aroundM on every side.
func (m *ground) around() orb.Bound {
	return m.field.Bound().Pad(aroundM)
}

// reading is how files of heights are read.
func (m *ground) reading() Spec {
	at := m.field.Frame.Origin()
	return Spec{CRS: m.spec.CRS, DatumGrid: m.spec.DatumGrid, HeightUnitM: m.spec.HeightUnitM, keyCRS: "heights_crs", near: &at}
}

// corners are the corners of a raster as a feature, by which a file that does
// not say its reference system is judged.
func corners(l format.Layout) []format.Feature {
	at := func(col, row int) format.Coord {
		c, r := float64(col), float64(row)
		return format.Coord{X: l.OriginX + c*l.ColX + r*l.RowX, Y: l.OriginY + c*l.ColY + r*l.RowY, Z: math.NaN()}
	}
	return []format.Feature{{Points: []format.Coord{at(0, 0), at(l.Cols-1, 0), at(0, l.Rows-1), at(l.Cols-1, l.Rows-1)}}}
}

// system is the reference system of a raster.
func (m *ground) system(file *format.File) (*crs.System, error) {
	l := locator{file: file, spec: m.reading().beside(*file)}
	def, err := l.definition()
	m.notes = append(m.notes, l.notes...)
	if err != nil {
		return nil, err
	}
	if def == nil {
		wgs, err := crs.ByCode(wgs84Code)
		if err != nil {
			return nil, err
		}
		def = &wgs
	}
	*def = def.Near(m.field.Frame.Origin())
	sys, err := crs.New(*def)
	if err != nil {
		return nil, &geo.InputError{File: file.Name, Problem: "its reference system cannot be used: " + err.Error(), Hint: convertHint}
	}
	if err := turnedRaster(file, sys); err != nil {
		return nil, err
	}
	if useGrid(def, m.spec.DatumGrid) {
		m.note(def.GridNote(m.spec.DatumGrid, file.Name))
		return sys.WithGrid(m.spec.DatumGrid), nil
	}
	m.notes = append(m.notes, def.DatumNotes(file.Name)...)
	return sys, nil
}

// turnedRaster refuses a raster whose corners lie in the area of its system with
// easting and northing turned round only, as files in systems that count south
// and west may have them.
func turnedRaster(file *format.File, sys *crs.System) error {
	d := sys.Definition()
	if d.Bounds == nil || len(file.Features) == 0 {
		return nil
	}
	turned := 0
	for _, c := range file.Features[0].Points {
		if ll, ok := sys.ToWGS84(crs.XY{X: c.X, Y: c.Y}); ok && d.Bounds.Contains(ll) {
			return nil
		}
		if ll, ok := sys.ToWGS84(crs.XY{X: c.Y, Y: c.X}); ok && d.Bounds.Contains(ll) {
			turned++
		}
	}
	if turned == 0 || turned < len(file.Features[0].Points) {
		return nil
	}
	return &geo.InputError{
		File: file.Name, Problem: fmt.Sprintf("its first coordinate is the northing (or southing) of %s: as written it lies outside the area of that system, turned round inside", sys.Name()),
		Hint: "bring it to a system that counts east and north: gdalwarp -t_srs EPSG:4326 in.tif out.tif",
	}
}

// grid makes a surface of rasters.
func (m *ground) grid(rasters []Survey) (terrain.Surface, error) {
	first := rasters[0].Raster.Head()
	first.Features = corners(rasters[0].Raster.Layout())
	sys, err := m.system(&first)
	if err != nil {
		return nil, err
	}
	r := rasters[0].Raster
	if len(rasters) > 1 {
		list := make([]format.Raster, len(rasters))
		for i, s := range rasters {
			list[i] = s.Raster
		}
		if r, err = terrain.Join(list); err != nil {
			return nil, err
		}
	}
	if d := sys.Definition(); m.spec.HeightUnitM == 0 && r.HeightUnitM() == 0 && d.Method != 0 && d.UnitM != 1 {
		return nil, &geo.InputError{
			File: r.Head().Name, Problem: fmt.Sprintf("does not say the unit of its heights, and its grid counts in units of %v m: they may be feet or metres", d.UnitM),
			Hint: "say which with height_unit: m, ft or us survey ft",
		}
	}
	opt := terrain.GridOptions{HeightUnitM: m.spec.HeightUnitM}
	if m.spec.Bicubic {
		opt.Method = terrain.Bicubic
	}
	g, notes, err := terrain.FromRaster(r, sys, m.field.Frame, m.around(), opt)
	m.notes = append(m.notes, notes...)
	if err != nil {
		return nil, m.refused(r.Head().Name, err)
	}
	return g, nil
}

// triangles makes a surface of survey points.
func (m *ground) triangles(points []Survey, breaks []format.File) (terrain.Surface, error) {
	var pts []terrain.Point
	var lines [][]terrain.Point
	place := ""
	for _, s := range points {
		p, l, err := m.heights(s.File)
		if err != nil {
			return nil, err
		}
		pts, lines = append(pts, p...), append(lines, l...)
		place = s.File.Name
	}
	for _, b := range breaks {
		p, l, err := m.heights(b)
		if err != nil {
			return nil, err
		}
		if len(l) == 0 {
			return nil, &geo.InputError{File: b.Name, Problem: "holds no line with heights", Hint: "break lines are lines, every vertex with its height"}
		}
		pts, lines = append(pts, p...), append(lines, l...)
	}
	if len(points)+len(breaks) > 1 {
		place = ""
	}
	if len(pts)+len(lines) == 0 {
		return nil, m.apart(points, nil)
	}
	t, notes, err := terrain.FromPoints(pts, lines, terrain.TINOptions{Place: place, LongestEdgeM: m.spec.LongestSideM})
	m.notes = append(m.notes, notes...)
	if err != nil {
		return nil, m.refused(place, err)
	}
	return t, nil
}

// refused is err as one of the input, unless it is that already.
func (m *ground) refused(file string, err error) error {
	var in *geo.InputError
	if errors.As(err, &in) || m.ctx.Err() != nil {
		return err
	}
	return &geo.InputError{File: file, Problem: strings.TrimPrefix(strings.TrimPrefix(err.Error(), file+": "), "terrain: "), Hint: "check that outline and heights are of the same place"}
}

// surveyReachM is how far from the field survey points still matter: they
// carry the triangles over its rim. Sparse surveys have a point every 50 m or
// so; five of those sides are the longest that are kept. A file of up to
// fewPositions is taken whole, as far as wholeReachM: it costs nothing, and a
// handful of points far apart may be all there is.
const (
	surveyReachM = 250
	wholeReachM  = 5000
	fewPositions = 50_000
)

// within is the box that positions of a file must lie in.
func (m *ground) within(positions int) orb.Bound {
	reach := max(surveyReachM, m.spec.LongestSideM)
	if positions <= fewPositions {
		reach = max(reach, wholeReachM)
	}
	return m.around().Pad(reach - aroundM)
}

// heights brings the points and lines of a file into the frame. What lies far
// away is left out; what has no height is left out with a note.
func (m *ground) heights(file format.File) (pts []terrain.Point, lines [][]terrain.Point, err error) {
	spec := m.reading().beside(file)
	located, notes, err := Locate(file, spec)
	m.notes = append(m.notes, notes...)
	if err != nil {
		return nil, nil, err
	}
	positions := 0
	each(&located, func(format.Coord) { positions++ })
	c := collector{frame: m.field.Frame, within: m.within(positions), near: m.within(fewPositions + 1), unitM: unitOfHeights(&located, spec)}
	for i := range located.Features {
		f := &located.Features[i]
		for _, p := range f.Points {
			if q, ok := c.point(p); ok {
				pts = append(pts, q)
			}
		}
		for _, p := range f.Polygons {
			for _, r := range p {
				lines = c.line(lines, r)
			}
		}
		for _, l := range f.Lines {
			lines = c.line(lines, l)
		}
		pts, c.lone = append(pts, c.lone...), c.lone[:0]
		if m.ctx.Err() != nil {
			return nil, nil, m.ctx.Err()
		}
	}
	switch {
	case c.seen == 0:
		return nil, nil, &geo.InputError{File: file.Name, Problem: "holds no points", Hint: "a survey of heights is a grid, points, or lines with heights"}
	case c.heightless == c.seen:
		return nil, nil, &geo.InputError{File: file.Name, Problem: "none of its positions has a height", Hint: "name the columns if it is a list of points, for example PNEZD"}
	case c.heightless > 0:
		m.note(geo.Note{
			Code: geo.NoteHeightMissing, Severity: geo.Info, Place: file.Name,
			Text: fmt.Sprintf("%d of %s without a usable height left out", c.heightless, geo.Counted(c.seen, "position")), Value: float64(c.heightless), Unit: "positions",
		})
	}
	if c.away > 0 {
		m.note(geo.Note{
			Code: geo.NoteTerrainPoints, Severity: geo.Info, Place: file.Name,
			Text:  fmt.Sprintf("%s of the survey lie out of reach of the field and were left out", geo.Counted(c.away, "position")),
			Value: float64(c.away), Unit: "positions",
		})
	}
	return pts, lines, nil
}

// collector brings positions with heights into a frame.
type collector struct {
	frame            geo.Frame
	within           orb.Bound // for points
	near             orb.Bound // for lines, which have vertices put in
	unitM            float64
	seen, heightless int
	away             int // with heights, out of reach
	lone             []terrain.Point
}

// place is a position in the frame; ok is false without a height.
func (c *collector) place(p format.Coord) (terrain.Point, bool) {
	c.seen++
	z := p.Z * c.unitM
	if !(z >= lowestM && z <= highestM) {
		c.heightless++
		return terrain.Point{}, false
	}
	q := c.frame.ToLocal(geo.LonLat{LonDeg: p.X, LatDeg: p.Y})
	return terrain.Point{X: q[0], Y: q[1], Z: z}, true
}

// point is place for points; ok is false out of reach too.
func (c *collector) point(p format.Coord) (terrain.Point, bool) {
	q, ok := c.place(p)
	if ok && !c.within.Contains(orb.Point{q.X, q.Y}) {
		c.away++
		ok = false
	}
	return q, ok
}

// line adds the runs of a line that have heights, cut to what is in reach. A
// vertex between two that have no height is a point by itself.
func (c *collector) line(lines [][]terrain.Point, l []format.Coord) [][]terrain.Point {
	var run []terrain.Point
	flush := func() {
		switch {
		case len(run) > 1:
			lines = c.cut(lines, run)
		case len(run) == 1 && c.within.Contains(orb.Point{run[0].X, run[0].Y}):
			c.lone = append(c.lone, run[0])
		}
		run = nil
	}
	for _, p := range l {
		q, ok := c.place(p)
		if !ok {
			flush()
			continue
		}
		run = append(run, q)
	}
	flush()
	return lines
}

// lineStepM divides long sides of lines: triangles along a side of a kilometre
// would be slivers, which the rim of a survey sheds. The surface along the line
// stays as it is.
const lineStepM = 20.0

// cut adds the parts of a line within reach, with heights between vertices.
func (c *collector) cut(lines [][]terrain.Point, l []terrain.Point) [][]terrain.Point {
	var part []terrain.Point
	for i := 1; i < len(l); i++ {
		t0, t1, ok := c.share(l[i-1], l[i])
		if !ok {
			c.away++
			continue
		}
		if t0 > 0 || len(part) == 0 {
			if len(part) > 1 {
				lines = append(lines, part)
			}
			part = []terrain.Point{between(l[i-1], l[i], t0)}
		}
		n := math.Ceil((t1 - t0) * math.Hypot(l[i].X-l[i-1].X, l[i].Y-l[i-1].Y) / lineStepM)
		for k := 1.0; k < n; k++ {
			part = append(part, between(l[i-1], l[i], t0+(t1-t0)*k/n))
		}
		part = append(part, between(l[i-1], l[i], t1))
	}
	if len(part) > 1 {
		lines = append(lines, part)
	}
	return lines
}

func between(a, b terrain.Point, t float64) terrain.Point {
	switch t {
	case 0:
		return a
	case 1:
		return b
	}
	return terrain.Point{X: a.X + t*(b.X-a.X), Y: a.Y + t*(b.Y-a.Y), Z: a.Z + t*(b.Z-a.Z)}
}

// share is the part of a segment that lies within the box, from t0 to t1.
func (c *collector) share(a, b terrain.Point) (t0, t1 float64, ok bool) {
	t1 = 1
	for _, side := range [4][2]float64{ // rising outward: distance at a, change to b
		{c.near.Min[0] - a.X, a.X - b.X},
		{a.X - c.near.Max[0], b.X - a.X},
		{c.near.Min[1] - a.Y, a.Y - b.Y},
		{a.Y - c.near.Max[1], b.Y - a.Y},
	} {
		out, change := side[0], side[1]
		switch {
		case change == 0 && out > 0:
			return 0, 0, false
		case change < 0:
			t0 = max(t0, -out/change)
		case change > 0:
			t1 = min(t1, -out/change)
		}
	}
	return t0, t1, t0 < t1
}

// apart refuses a survey that does not touch the field.
func (m *ground) apart(surveys []Survey, s terrain.Surface) error {
	var names []string
	for _, v := range surveys {
		names = append(names, v.File.Name)
	}
	e := &geo.InputError{
		File: strings.Join(names, ", "), Problem: "the heights do not cover any of the field",
		Hint: "check the reference systems of outline and heights: a wrong zone moves one of them far away",
	}
	if s == nil {
		e.Problem += fmt.Sprintf(": nothing lies within %d m of it", surveyReachM)
		return e
	}
	b, f := s.Bounds(), m.field.Bound()
	dx := math.Max(0, math.Max(b.Min[0]-f.Max[0], f.Min[0]-b.Max[0]))
	dy := math.Max(0, math.Max(b.Min[1]-f.Max[1], f.Min[1]-b.Max[1]))
	if d := math.Hypot(dx, dy); d > 0 {
		e.Problem += fmt.Sprintf(": they lie %.0f m from it", d)
	} else {
		e.Problem += ": the file has no heights there"
	}
	return e
}

// wholeRatio: less of the field covered than this is worth a caution.
const wholeRatio = 0.9995

// say notes what the terrain is.
func (m *ground) say(f geo.Field, r Relief) {
	n := geo.Note{
		Code: geo.NoteTerrain, Severity: geo.Info,
		Text: fmt.Sprintf("terrain: %s; the field lies between %.1f and %.1f m, on average %.1f m; mean slope %.1f %%",
			r.Method, r.LowestM, r.HighestM, r.MeanM, r.MeanSlopePct),
		Value: r.MeanSlopePct, Unit: "%",
	}
	m.note(n)
	if r.CoveredRatio < wholeRatio {
		m.note(geo.Note{
			Code: geo.NoteTerrainPart, Severity: geo.Caution,
			Text:  fmt.Sprintf("the heights cover %.1f %% of the field; elsewhere ground lengths are plan lengths at the mean height", 100*r.CoveredRatio),
			Hint:  "have the rest surveyed, or ask for the neighbouring tile",
			Value: 100 * r.CoveredRatio, Limit: 100, Unit: "%",
		})
	}
	m.note(geo.Note{
		Code: geo.NoteGroundFactor, Severity: geo.Info,
		Text:  fmt.Sprintf("mean height of the ground %.0f m: lengths at that height are those at sea level times %.6f", r.MeanM, f.Frame.GroundFactor()),
		Value: r.MeanM, Unit: "m",
	})
}
