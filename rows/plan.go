package rows

import (
	"context"
	"fmt"
	"math"
	"runtime"

	"hemrow/geo"
	"hemrow/rows/contour"
)

// Plan lays rows over every block of a field.
//
// For each block it finds the heading and the place of row one (given, along
// an edge, or searched), clips the rows to the ground that is open to them,
// divides long ones by cross alleys, leaves out short ones, numbers them,
// places the plants, and finds the order of laying with its turns. Where the
// field has terrain, rows are laid on it: their ground lengths are those of the
// slope, and plants are a pitch apart along it.
//
// By [StyleStraight] headings are chosen in plan. By the other styles they are
// chosen by the metres of row inside the limits of [Curving], rows that follow
// the land are laid beside them (see [contour.Best]), and one of the two is taken.
//
// Accuracy: row ends lie at their clearances within 0.2 µm in the frame;
// lengths agree with the geodesic to 1 mm per km (see [geo.Frame]).
// The result does not depend on the number of processors. A spec that is not
// valid, or a spacing that makes more than a million rows, is an error; a
// block without room for a row is a note.
func Plan(ctx context.Context, f geo.Field, spec Spec) (Layout, geo.Notes, error) {
	return (&Planner{Workers: runtime.GOMAXPROCS(0)}).Plan(ctx, f, spec)
}

// Planner lays one field after another and keeps its scratch memory between
// them; the zero value is ready. It is for one goroutine at a time.
type Planner struct {
	// Workers is how many goroutines one field's search may use; 0 means one,
	// which is best where many fields are planned side by side.
	Workers int
	// Step is told the name of each long step as it begins; may be nil.
	Step func(name string)

	scratch scratch
}

// Plan is the package's [Plan].
func (pl *Planner) Plan(ctx context.Context, f geo.Field, spec Spec) (Layout, geo.Notes, error) {
	if err := spec.Validate(); err != nil {
		return Layout{}, nil, err
	}
	p := planner{Layout: Layout{Spec: spec, Field: f}, workers: pl.Workers, step: pl.Step, scratch: &pl.scratch}
	return p.plan(ctx)
}

// planner gathers a layout block by block.
type planner struct {
	Layout
	notes   geo.Notes
	workers int
	step    func(name string)
	*scratch
}

// scratch is memory that no layout keeps.
type scratch struct {
	site  site
	clip  clipper
	find  searcher
	ends  []rowEnds
	steps []int
}

func (p *planner) plan(ctx context.Context) (Layout, geo.Notes, error) {
	for i, b := range p.Field.Blocks {
		if err := p.block(ctx, i, b); err != nil {
			return Layout{}, nil, err
		}
	}
	if p.Spec.Style != StyleStraight && p.Field.Surface == nil {
		p.note(geo.Note{
			Code: geo.NoteStraightKept, Severity: geo.Info,
			Text: "rows are straight: they can follow the land only where its heights are known",
			Hint: "give a survey of heights, or style: straight",
		})
	}
	p.noteEnds()
	p.noteTerrain()
	return p.Layout, p.notes, nil
}

func (p *planner) block(ctx context.Context, i int, b geo.Block) error {
	st := &p.site
	st.reset(b, p.Field.Obstacles, &p.Spec)
	if h := p.Spec.Heading; h.Mode == HeadingEdge && h.Edge > st.outer {
		return &SpecFault{"rows.heading", fmt.Sprintf("block %q has edges 1 to %d, not %d", b.Name, st.outer, h.Edge)}
	}
	ch, err := p.choose(ctx, st, b.Name)
	if err != nil {
		return err
	}
	var cv *Curved
	if p.Spec.Style != StyleStraight {
		if ch, cv, err = p.compare(ctx, i, b, ch); err != nil {
			return err
		}
	}
	if cv != nil && cv.Laid().Method != contour.Straight {
		p.bend(i, b.Name, cv)
		return nil
	}
	cut := st.pieces(&p.clip, ch)
	p.materialise(i, b.Name, cut)
	blk := &p.Blocks[i]
	p.order(blk, cut.axes)
	blk.Curved = cv
	p.noteBlock(st, *blk, cut.axes, cut.divided)
	return nil
}

// tell tells the name of a step.
func (p *planner) tell(name string) {
	if p.step != nil {
		p.step(name)
	}
}

// choose settles heading and first row: by search, or at once where the spec
// leaves nothing to search.
func (p *planner) choose(ctx context.Context, st *site, name string) (choice, error) {
	headings := st.headings()
	west, east := st.across(axesOf(0))
	north, south := st.across(axesOf(90))
	// no heading is wider across than the diagonal
	if n := math.Hypot(east-west, south-north) / p.Spec.SpacingM; n > mostRows {
		return choice{}, &SpecFault{"rows.spacing", fmt.Sprintf("could make %.0f rows in block %q, more than %d", n, name, mostRows)}
	}
	if len(headings) == 1 && !p.Spec.FirstRow.Best {
		return choice{headings[0], p.Spec.FirstRow.OffsetM}, ctx.Err()
	}
	return p.find.search(ctx, st, headings, p.workers)
}

// materialise turns a cutting into numbered rows with lines and stations.
func (p *planner) materialise(block int, name string, cut cutting) {
	blk := Block{
		Name: name, Heading: cut.heading, OffsetM: cut.offset,
		LeftCount: cut.leftCount, LeftM: cut.leftM,
		Tally: Tally{Pieces: len(cut.bits)},
	}
	worth := p.Spec.valuer()
	endB := cut.heading.Compass()
	endA := endB.Opposite()
	number := len(p.Rows)
	flat := make([]float64, 2*geo.LineStride*len(cut.bits))
	pieces := make([]Piece, len(cut.bits))
	factor := p.Field.Frame.GroundFactor()
	if cap(p.Rows)-len(p.Rows) < len(cut.bits) {
		p.Rows = append(make([]Row, 0, len(p.Rows)+len(cut.bits)), p.Rows...)
	}
	for i, b := range cut.bits {
		pieces[i].lay(&p.Field.Frame, factor, &cut, b, flat[2*geo.LineStride*i:2*geo.LineStride*(i+1)])
	}
	p.drape(pieces)
	for i, b := range cut.bits {
		pc := &pieces[i]
		blk.Tally.PlantedM += pc.PlanM
		blk.Tally.WorthScore += worth.of(b.u1 - b.u0)
		if i == 0 || cut.bits[i-1].row != b.row {
			number++
			p.Rows = append(p.Rows, Row{
				Number: number, Block: block, EndA: endA, EndB: endB,
				AcrossM: float64(b.row) * cut.spacing, Zone: 1,
			})
			blk.Tally.Rows++
		}
		row := &p.Rows[len(p.Rows)-1]
		row.Pieces = pieces[i-len(row.Pieces) : i+1 : i+1]
		pc.Part = len(row.Pieces)
		if len(p.Spec.Plants) > 0 {
			pc.Stations = stations(p.Spec.Plants, blk.Tally.Rows, pc)
		}
	}
	if blk.Tally.Rows > 0 {
		blk.FirstRow = p.Rows[len(p.Rows)-blk.Tally.Rows].Number
		blk.RowCount = blk.Tally.Rows
	}
	blk.Alleys = alleyLines(cut, p.Spec.CrossAlleyM)
	p.Blocks = append(p.Blocks, blk)
}

// lay puts one bit of a cutting into the frame; flat is the line's memory.
func (pc *Piece) lay(f *geo.Frame, factor float64, cut *cutting, b bit, flat []float64) {
	v := cut.rowV(b.row)
	p, q := cut.xy(b.u0, v), cut.xy(b.u1, v)
	pc.PlanM = f.PlanM(p, q)
	pc.GroundM = pc.PlanM * factor
	flat[0], flat[1], flat[2], flat[3] = p[0], p[1], noHeight, 0
	flat[4], flat[5], flat[6], flat[7] = q[0], q[1], noHeight, pc.GroundM
	pc.Line = geo.LineOfFlat(flat)
}
