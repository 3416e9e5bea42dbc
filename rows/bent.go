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
	zones := map[int]int{}
	for k := range strands {
		s := &strands[k]
		if zones[s.zone] == 0 {
			zones[s.zone] = len(zones) + 1
		}
		a, b := s.ends()
		endB := geo.BearingOf(b[0]-a[0], b[1]-a[1]).Compass()
		row := Row{
			Number: len(p.Rows) + 1, Block: i, EndA: endB.Opposite(), EndB: endB,
			AcrossM: s.acrossM - strands[0].acrossM, Zone: zones[s.zone], Pieces: make([]Piece, len(s.pieces)),
		}
		for n, line := range s.pieces {
			pc := &row.Pieces[n]
			pc.Part, pc.Line = n+1, geo.NewLine(p.Field.Frame, line)
			pc.PlanM, pc.GroundM = pc.Line.PlanM(p.Field.Frame), pc.Line.GroundM()
			blk.Tally.PlantedM += pc.PlanM
			blk.Tally.WorthScore += worth.of(lineM(line))
		}
		p.drape(row.Pieces)
		blk.Tally.Rows++
		blk.Tally.Pieces += len(row.Pieces)
		for n := range row.Pieces {
			if len(p.Spec.Plants) > 0 {
				row.Pieces[n].Stations = stations(p.Spec.Plants, blk.Tally.Rows, &row.Pieces[n])
			}
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
