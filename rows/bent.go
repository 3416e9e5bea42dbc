package rows

import (
	"github.com/paulmach/orb"

	"hemrow/geo"
	"hemrow/rows/contour"
)

// bend turns the bent rows of a block into numbered rows with lines and
// stations, as materialise does straight ones, and finds their order.
func (p *planner) bend(i int, name string, cv *Curved) {
	laid := cv.Laid()
	divided := cv.divided[laid.Method]
	blk := Block{
		Curved: cv, Name: name, Bent: true, LeftCount: laid.LeftCount, LeftM: laid.LeftM,
		Alleys: cv.alleys[laid.Method],
	}
	lines := make([]contour.Row, len(laid.Rows))
	for k, r := range laid.Rows {
		lines[k] = contour.Row{Line: append(orb.LineString(nil), r.Line...), Number: r.Number, Zone: r.Zone}
	}
	blk.Heading = meanHeading(lines)
	x := axesOf(blk.Heading)
	strands := strandsOf(lines, x, p.Spec.SpacingM)
	worth := p.Spec.valuer()
	zone := 0
	for k := range strands {
		s := &strands[k]
		if k == 0 || s.zone != strands[k-1].zone {
			zone++
		}
		blk.Tally.Rows++
		row := p.rowOf(s, blk.Tally.Rows)
		row.Block, row.Zone, row.AcrossM = i, zone, s.acrossM-strands[0].acrossM
		for n, pc := range row.Pieces {
			blk.Tally.Pieces++
			blk.Tally.PlantedM += pc.PlanM
			blk.Tally.WorthScore += worth.of(lineM(s.pieces[n]))
		}
		p.Rows = append(p.Rows, row)
	}
	if blk.Tally.Rows > 0 {
		blk.FirstRow = p.Rows[len(p.Rows)-blk.Tally.Rows].Number
		blk.RowCount = blk.Tally.Rows
	}
	p.Blocks = append(p.Blocks, blk)
	if blk.RowCount > 0 {
		p.order(&p.Blocks[i], x)
	}
	p.noteBlock(&p.site, p.Blocks[i], x, divided)
}

// rowOf is a strand as the n-th row of its block, laid on the terrain.
func (p *planner) rowOf(s *strand, n int) Row {
	a, b := s.ends()
	toB := geo.BearingOf(b[0]-a[0], b[1]-a[1]).Compass()
	row := Row{Number: len(p.Rows) + 1, EndA: toB.Opposite(), EndB: toB, Pieces: make([]Piece, len(s.pieces))}
	for k, line := range s.pieces {
		pc := &row.Pieces[k]
		pc.Part, pc.Line = k+1, geo.NewLine(p.Field.Frame, line)
		pc.PlanM, pc.GroundM = pc.Line.PlanM(p.Field.Frame), pc.Line.GroundM()
	}
	p.drape(row.Pieces)
	if len(p.Spec.Plants) > 0 {
		for k := range row.Pieces {
			row.Pieces[k].Stations = stations(p.Spec.Plants, n, &row.Pieces[k])
		}
	}
	return row
}
