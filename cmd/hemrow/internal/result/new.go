package result

import (
	"fmt"
	"math"

	"github.com/paulmach/orb"

	"hemrow/geo"
	"hemrow/geo/field"
	"hemrow/geo/terrain"
	"hemrow/materials"
	"hemrow/rows"
)

// Input is everything a document is made from.
type Input struct {
	Program, Version string
	Units            string // metric or us
	PlanEcho         []EchoLine
	Files            []InputFile
	Field            geo.Field
	Relief           *field.Relief // nil without terrain
	IntervalM        float64       // between level lines
	Levels           []terrain.Contour
	Layout           rows.Layout
	WorkingAreas     []orb.MultiPolygon // by block; nil if they were not drawn
	Takeoff          materials.Takeoff
	Notes            geo.Notes
}

// New makes the document of a run. Nothing of the input is kept or changed.
// It errors when a number is not finite, when the working areas do not match
// the blocks, and when layout and take-off speak of rows that are not there:
// such a document would mislead whoever reads it.
func New(in Input) (Document, error) {
	m := maker{Input: in, mapper: newMapper(in.Field.Frame)}
	l := in.Layout
	if len(in.Field.Blocks) != len(l.Blocks) || (in.WorkingAreas != nil && len(in.WorkingAreas) != len(l.Blocks)) {
		return Document{}, fmt.Errorf("field of %d blocks, layout of %d, working areas of %d", len(in.Field.Blocks), len(l.Blocks), len(in.WorkingAreas))
	}
	for _, r := range l.Rows {
		if r.Block < 0 || r.Block >= len(l.Blocks) {
			return Document{}, fmt.Errorf("row %d lies in block %d of %d", r.Number, r.Block+1, len(l.Blocks))
		}
	}
	d := Document{
		HemrowResult: Version,
		Generator:    Generator{text(in.Program), text(in.Version)},
		Units:        in.Units,
		Plan:         make([]EchoLine, len(in.PlanEcho)),
		Inputs:       make([]InputFile, len(in.Files)),

		GradeStepsPct: append([]float64{}, rows.GradeStepsPct[:]...),
	}
	for i, e := range in.PlanEcho {
		d.Plan[i] = EchoLine{text(e.Section), text(e.Key), text(e.Text), e.FromFile}
	}
	for i, f := range in.Files {
		f.File, f.Format, f.Role = text(f.File), text(f.Format), text(f.Role)
		d.Inputs[i] = f
	}
	d.Frame = m.frameOf()
	d.Terrain = m.terrain()
	d.Rows = m.rows()
	var err error
	if d.Blocks, d.Totals, err = m.blocks(); err != nil {
		return Document{}, err
	}
	d.Field = m.field()
	d.Plants = m.plants()
	d.Notes = m.notes(&d.Totals)
	if d.Passes, err = m.passes(); err != nil {
		return Document{}, err
	}
	if d.Takeoff, err = m.takeoff(); err != nil {
		return Document{}, err
	}
	m.sumFields(&d)
	if m.finite.err != nil {
		return Document{}, m.finite.err
	}
	return d, d.check()
}

// maker carries what the parts of New share.
type maker struct {
	Input
	mapper
	finite
	areaM2, workingM2, perimeterM float64
}

func (m *maker) frameOf() Frame {
	o := m.frame.Origin()
	f := Frame{
		OriginLonDeg: nanoDeg(o.LonDeg), OriginLatDeg: nanoDeg(o.LatDeg),
		GroundFactor: roundTo(m.frame.GroundFactor(), perGround),
	}
	m.see("the frame's origin", o.LonDeg, o.LatDeg)
	ground := "no height of the ground is known, so ground lengths equal plan lengths"
	if m.Relief != nil {
		ground = "ground lengths follow the slope of the terrain"
	}
	if h, known := m.frame.Height(); known {
		m.see("the height of the ground", h)
		hm := mm(h)
		f.HeightM = &hm
		if m.Relief != nil {
			ground += fmt.Sprintf(", at its mean height of %.1f m (factor %.9f)", h, f.GroundFactor)
		} else {
			ground = fmt.Sprintf("ground lengths are plan lengths times %.9f, for ground %.1f m above the ellipsoid", f.GroundFactor, h)
		}
	}
	f.Statement = "Local metres: transverse Mercator on WGS84, scale 1 on the meridian of the origin; " +
		"x east and y north of the origin, where north is true north. " +
		"Plan lengths and areas are horizontal on the ellipsoid; " + ground + "."
	return f
}

// terrain is the lie of the land, nil if it is not known.
func (m *maker) terrain() *Terrain {
	r := m.Relief
	if r == nil {
		return nil
	}
	m.see("the terrain", r.LowestM, r.HighestM, r.MeanM, r.MeanSlopePct, r.Slope95Pct, r.CoveredRatio)
	return &Terrain{
		Method: text(r.Method), LowestM: mm(r.LowestM), HighestM: mm(r.HighestM), MeanM: mm(r.MeanM),
		MeanSlopePct: mm(r.MeanSlopePct), Slope95Pct: mm(r.Slope95Pct), CoveredPct: mm(100 * r.CoveredRatio),
		IntervalM: mm(m.IntervalM), Levels: m.levels(),
	}
}

// levels are the level lines of the map.
func (m *maker) levels() []Level {
	out := make([]Level, len(m.Levels))
	for i, c := range m.Levels {
		m.see("a level line", c.LevelM)
		for _, p := range c.Line {
			m.see("a level line", p[0], p[1])
		}
		line := m.course(c.Line)
		out[i] = Level{mm(c.LevelM), line.LonLat, line.Local}
	}
	return out
}

func (m *maker) field() Field {
	f := Field{Name: text(m.Field.Name), Obstacles: []Obstacle{}}
	for _, o := range m.Field.Obstacles {
		ob := Obstacle{Name: text(o.Name)}
		switch {
		case len(o.Area) > 0:
			s := m.outline(o.Area)
			ob.Area = &s
		case len(o.Path) > 0:
			c := Course{}
			for _, p := range o.Path {
				c.LonLat, c.Local = append(c.LonLat, m.position(p)), append(c.Local, xy(p))
			}
			ob.Path = &c
		}
		f.Obstacles = append(f.Obstacles, ob)
	}
	return f
}

// sumFields rounds the sums over blocks into field and totals.
func (m *maker) sumFields(d *Document) {
	d.Field.AreaM2, d.Field.PerimeterM = m2(m.areaM2), mm(m.perimeterM)
	if m.WorkingAreas != nil {
		w := m2(m.workingM2)
		d.Field.WorkingAreaM2 = &w
	}
	m.see("the area of the field", m.areaM2, m.workingM2, m.perimeterM)
}

func (m *maker) blocks() ([]Block, Totals, error) {
	l := m.Layout
	out := make([]Block, len(l.Blocks))
	ground := make([]float64, len(l.Blocks))
	first := make([]*rows.Row, len(l.Blocks))
	t := Totals{Blocks: len(l.Blocks), ShortestM: math.Inf(1)}
	for i := range l.Rows {
		r := &l.Rows[i]
		if first[r.Block] == nil {
			first[r.Block] = r
		}
		for _, p := range r.Pieces {
			ground[r.Block] += p.GroundM
			t.ShortestM, t.LongestM = min(t.ShortestM, p.PlanM), max(t.LongestM, p.PlanM)
			t.StationsNo += len(p.Stations)
			if p.Slope == nil {
				t.OffTerrainM += p.PlanM
			} else {
				t.OffTerrainM += p.Slope.OutsideM
			}
		}
	}
	if math.IsInf(t.ShortestM, 1) {
		t.ShortestM = 0
	}
	var sum Tally
	for i, b := range l.Blocks {
		out[i] = m.block(i, b, ground[i])
		var err error
		if out[i].Curved, err = m.curved(b); err != nil {
			return nil, t, err
		}
		if r := first[i]; r != nil {
			out[i].EndA, out[i].EndB = endsOf(out[i], *r)
		}
		t.Rows += b.Tally.Rows
		t.Pieces += b.Tally.Pieces
		sum.PlanM += b.Tally.PlantedM
		sum.GroundM += ground[i]
		t.LeftCount += b.LeftCount
		t.LeftM += b.LeftM
		t.PlainTurns += b.Turning.Plain
		t.BulbTurns += b.Turning.Bulb
		t.Drives += b.Turning.Drives
		t.TurnPathM += b.Turning.PathM
		t.AheadPast += b.Turning.AheadPast
		t.AheadM += b.Turning.AheadM
	}
	m.see("a total", sum.PlanM, sum.GroundM, t.LeftM, t.TurnPathM, t.AheadM, t.ShortestM, t.LongestM)
	t.PlanM, t.GroundM, t.LeftM = mm(sum.PlanM), mm(sum.GroundM), mm(t.LeftM)
	m.see("a total", t.OffTerrainM)
	t.TurnPathM, t.AheadM, t.OffTerrainM = mm(t.TurnPathM), mm(t.AheadM), mm(t.OffTerrainM)
	t.ShortestM, t.LongestM = mm(t.ShortestM), mm(t.LongestM)
	return out, t, nil
}

func (m *maker) block(i int, b rows.Block, groundM float64) Block {
	out := m.Field.Blocks[i].Outline
	blk := Block{
		Name: text(b.Name), Style: styleOf(b), HeadingDeg: math.Mod(microDeg(b.Heading.Deg()), 180),
		SpacingM: mm(m.Layout.Spec.SpacingM), OffsetM: mm(b.OffsetM), CrossAlleyM: mm(m.Layout.Spec.CrossAlleyM),
		FirstRowNo: b.FirstRow, Outline: m.outline(out), WorkingArea: []Shape{}, Alleys: []Course{},
		Tally: Tally{
			Rows: b.Tally.Rows, Pieces: b.Tally.Pieces, PlanM: mm(b.Tally.PlantedM), GroundM: mm(groundM),
			WorthScore: mm(b.Tally.WorthScore), LeftCount: b.LeftCount, LeftM: mm(b.LeftM),
		},
		Turning: Turning{
			Skip: b.Turning.Skip, Plain: b.Turning.Plain, Bulb: b.Turning.Bulb, Drives: b.Turning.Drives, PathM: mm(b.Turning.PathM),
			NeedM: mm(b.Turning.NeedM), LongestM: mm(b.Turning.LongestM),
			AheadPast: b.Turning.AheadPast, AheadM: mm(b.Turning.AheadM),
		},
	}
	if b.RowCount > 0 {
		blk.LastRowNo = b.FirstRow + b.RowCount - 1
	}
	for _, a := range b.Alleys {
		blk.Alleys = append(blk.Alleys, m.course(a))
	}
	area := m.frame.AreaM2(out)
	var perimeter float64
	if len(out) > 0 {
		perimeter = m.frame.AroundM(out[0])
	}
	blk.AreaM2, blk.PerimeterM = m2(area), mm(perimeter)
	m.areaM2 += area
	m.perimeterM += perimeter
	if m.WorkingAreas != nil {
		var open float64
		for _, p := range m.WorkingAreas[i] {
			open += m.frame.AreaM2(p)
			blk.WorkingArea = append(blk.WorkingArea, m.area(p))
		}
		w := m2(open)
		blk.WorkingAreaM2 = &w
		m.workingM2 += open
	}
	m.see("block "+b.Name, area, perimeter, b.Heading.Deg(), b.OffsetM, b.Tally.PlantedM, groundM, b.Tally.WorthScore,
		b.LeftM, b.Turning.PathM, b.Turning.NeedM, b.Turning.LongestM, b.Turning.AheadM, m.Layout.Spec.SpacingM, m.Layout.Spec.CrossAlleyM)
	return blk
}
