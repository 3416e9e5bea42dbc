package result

import (
	"encoding/hex"
	"errors"
	"fmt"
	"math"
	"slices"
)

// The words a document may use.
func unitSystems() []string { return []string{"metric", "us"} }
func severities() []string  { return []string{"info", "caution", "serious"} }
func turns() []string       { return []string{"none", "ahead", "plain", "bulb", "drive"} }
func styles() []string      { return []string{"straight", "contour"} }

// check states the rules a document keeps beyond its types and returns all
// that are broken, joined.
func (d Document) check() error {
	c := checker{}
	if d.HemrowResult != Version {
		c.bad("hemrow_result is %d, not %d", d.HemrowResult, Version)
	}
	c.word("units", d.Units, unitSystems())
	for i, in := range d.Inputs {
		if b, err := hex.DecodeString(in.SHA256); err != nil || len(b) != 32 || in.Bytes < 0 {
			c.bad("inputs[%d] has no SHA-256 or no size", i)
		}
	}
	c.position("frame.origin", Position{d.Frame.OriginLonDeg, d.Frame.OriginLatDeg})
	if d.Terrain != nil {
		for i, l := range d.Terrain.Levels {
			c.course(fmt.Sprintf("terrain.levels[%d]", i), l.LonLat, l.Local, 2)
		}
	}
	for i, o := range d.Field.Obstacles {
		c.obstacle(fmt.Sprintf("field.obstacles[%d]", i), o)
	}
	if d.Totals.Blocks != len(d.Blocks) || d.Totals.Rows != len(d.Rows) {
		c.bad("totals count %d blocks and %d rows, there are %d and %d", d.Totals.Blocks, d.Totals.Rows, len(d.Blocks), len(d.Rows))
	}
	c.word("totals.worst_note", d.Totals.WorstNote, append(severities(), "none"))
	for i, b := range d.Blocks {
		c.block(fmt.Sprintf("blocks[%d]", i), b)
	}
	parts := c.rows(d)
	c.places(d, parts)
	for i, n := range d.Notes {
		c.word(fmt.Sprintf("notes[%d].severity", i), n.Severity, severities())
	}
	return errors.Join(c.errs...)
}

// mostFaults: a broken document breaks the same rule on every row; a reader
// learns nothing from the hundredth line.
const mostFaults = 20

type checker struct{ errs []error }

func (c *checker) bad(format string, args ...any) {
	if len(c.errs) < mostFaults {
		c.errs = append(c.errs, fmt.Errorf(format, args...))
	}
}

func (c *checker) word(place, got string, allowed []string) {
	if !slices.Contains(allowed, got) {
		c.bad("%s is %q, not one of %q", place, got, allowed)
	}
}

func (c *checker) position(place string, p Position) {
	if len(p) != 2 && len(p) != 3 {
		c.bad("%s has %d numbers", place, len(p))
		return
	}
	// not >: NaN is out too. 540 = 180 and a whole turn, see Position.
	if !(math.Abs(p[0]) <= 540 && math.Abs(p[1]) <= 90) {
		c.bad("%s (%g, %g) is no place on the earth", place, p[0], p[1])
	}
}

func (c *checker) course(place string, ll []Position, local []XY, least int) {
	if len(local) < least || len(ll) < len(local) {
		c.bad("%s has %d local places and %d positions", place, len(local), len(ll))
	}
	for _, p := range ll {
		c.position(place, p)
	}
}

func (c *checker) shape(place string, s Shape) {
	if len(s.Local) == 0 || len(s.LonLat) != len(s.Local) {
		c.bad("%s has %d and %d rings", place, len(s.LonLat), len(s.Local))
		return
	}
	for i, r := range s.Local {
		ll := s.LonLat[i]
		c.course(place, ll, r, 4)
		if len(r) < 4 || len(ll) < 4 {
			continue
		}
		if r[0] != r[len(r)-1] || !slices.Equal(ll[0], ll[len(ll)-1]) {
			c.bad("%s: ring %d is not closed", place, i+1)
		}
	}
}

func (c *checker) obstacle(place string, o Obstacle) {
	switch {
	case (o.Area == nil) == (o.Path == nil):
		c.bad("%s must have an area or a path", place)
	case o.Area != nil:
		c.shape(place, *o.Area)
	default:
		c.course(place, o.Path.LonLat, o.Path.Local, 1)
	}
}

func (c *checker) block(place string, b Block) {
	c.shape(place+".outline", b.Outline)
	for _, s := range b.WorkingArea {
		c.shape(place+".working_area", s)
	}
	for _, a := range b.Alleys {
		c.course(place+".alleys", a.LonLat, a.Local, 2)
	}
	if !(b.HeadingDeg >= 0 && b.HeadingDeg < 180) {
		c.bad("%s.heading_deg is %g", place, b.HeadingDeg)
	}
	c.word(place+".style", b.Style, styles())
	if b.Curved != nil {
		c.curved(place+".curved", *b.Curved)
	}
}

// curved checks that just one candidate is laid, the one named.
func (c *checker) curved(place string, v Curved) {
	laid := 0
	for i, a := range v.Candidates {
		place := fmt.Sprintf("%s.candidates[%d]", place, i)
		if a.Laid {
			laid++
			if a.Method != v.Laid {
				c.bad("%s is laid, not %q", place, v.Laid)
			}
		}
		if len(a.Gaps) > a.GapsNo {
			c.bad("%s lists %d gaps of %d", place, len(a.Gaps), a.GapsNo)
		}
		for _, g := range a.Gaps {
			c.position(place+".gaps", g.LonLat)
		}
	}
	if laid != 1 {
		c.bad("%s: %d of %d candidates are laid, not 1", place, laid, len(v.Candidates))
	}
	if v.Repeat != nil {
		c.course(place+".repeat.guide", v.Repeat.Guide.LonLat, v.Repeat.Guide.Local, 2)
	}
}

// partOf names a piece by its row and part.
type partOf struct{ row, part int }

func (c *checker) rows(d Document) map[partOf]string {
	parts := make(map[partOf]string, len(d.Rows))
	for i, r := range d.Rows {
		place := fmt.Sprintf("rows[%d]", i)
		if r.BlockNo < 1 || r.BlockNo > len(d.Blocks) {
			c.bad("%s lies in block %d of %d", place, r.BlockNo, len(d.Blocks))
		}
		if r.Number != i+1 {
			c.bad("%s is numbered %d", place, r.Number)
		}
		if r.Zone < 1 {
			c.bad("%s lies in zone %d", place, r.Zone)
		}
		for k, p := range r.Pieces {
			place := fmt.Sprintf("%s.pieces[%d]", place, k)
			id := partOf{r.Number, p.Part}
			if _, twice := parts[id]; twice {
				c.bad("%s is part %d again", place, p.Part)
			}
			parts[id] = p.Name
			c.course(place, p.LineLonLat, p.LineLocal, 2)
			c.grades(place, p.Grades, len(d.GradeStepsPct))
			for _, s := range p.Stations {
				c.stations(place, s, d)
			}
		}
	}
	if len(parts) != d.Totals.Pieces {
		c.bad("totals count %d pieces, there are %d", d.Totals.Pieces, len(parts))
	}
	return parts
}

// grades checks that stretches run on from end A to end B and name steps that
// are there.
func (c *checker) grades(place string, list []Grade, steps int) {
	var at float64
	for i, g := range list {
		if g.Step < -1 || g.Step > steps {
			c.bad("%s.grades[%d] is of step %d of %d", place, i, g.Step, steps)
		}
		if !(g.FromM >= at && g.ToM >= g.FromM && g.FromPlanM >= 0 && g.ToPlanM >= g.FromPlanM) {
			c.bad("%s.grades[%d] runs from %g to %g m", place, i, g.FromM, g.ToM)
		}
		at = g.ToM
	}
}

func (c *checker) stations(place string, s Stations, d Document) {
	if s.PlantNo < 1 || s.PlantNo > len(d.Plants) {
		c.bad("%s has stations of plant %d of %d", place, s.PlantNo, len(d.Plants))
	}
	if len(s.ChainageM) != len(s.Local) || len(s.LonLat) != len(s.Local) {
		c.bad("%s has stations with lists of %d, %d and %d", place, len(s.ChainageM), len(s.LonLat), len(s.Local))
	}
	for _, p := range s.LonLat {
		c.position(place, p)
	}
}

// places checks that passes and take-off name pieces that are there.
func (c *checker) places(d Document, parts map[partOf]string) {
	for i, p := range d.Passes {
		if name, there := parts[partOf{p.Row, p.Part}]; !there || name != p.Piece {
			c.bad("passes[%d] takes %s, row %d part %d, which is not there", i, p.Piece, p.Row, p.Part)
		}
		c.word(fmt.Sprintf("passes[%d].turn", i), p.Turn, turns())
	}
	for i, t := range d.Takeoff.Pieces {
		if name, there := parts[partOf{t.Row, t.Part}]; !there || name != t.Piece {
			c.bad("takeoff.pieces[%d] counts %s, row %d part %d, which is not there", i, t.Piece, t.Row, t.Part)
		}
		if n := len(t.PlantsNo); n != 0 && n != len(d.Plants) {
			c.bad("takeoff.pieces[%d] counts %d kinds of plants of %d", i, n, len(d.Plants))
		}
	}
}
