package rows

import (
	"math"

	"hemrow/geo"
	"hemrow/rows/contour"
)

// runs gathers the grades along a piece in stretches of one step each. Their
// ends are lengths in plan until the piece's line turns them into chainages.
type runs []GradeRun

// stepOf is how many of the steps a grade exceeds, -1 where it is not known.
func stepOf(gradePct float64) int {
	if math.IsNaN(gradePct) {
		return -1
	}
	n := 0
	for _, s := range GradeStepsPct {
		if math.Abs(gradePct) > s {
			n++
		}
	}
	return n
}

// add goes on with the next place of the piece.
func (r *runs) add(at contour.Place) {
	gradePct := 100 * at.GradeRatio
	step := stepOf(gradePct)
	if step < 0 {
		gradePct = 0
	}
	if n := len(*r); n > 0 && (*r)[n-1].Step == step {
		run := &(*r)[n-1]
		run.ToM = at.ToM
		if math.Abs(gradePct) > math.Abs(run.GradePct) {
			run.GradePct = gradePct
		}
		return
	}
	*r = append(*r, GradeRun{FromM: at.FromM, ToM: at.ToM, Step: step, GradePct: gradePct})
}

// onGround is the runs by the chainage along the ground; the ends are those of
// the line.
func (r runs) onGround(line geo.Line) []GradeRun {
	if len(r) == 0 {
		return nil
	}
	vertex, planM := 1, 0.0 // planM is where the vertex before lies in the plane
	for k := range r[:len(r)-1] {
		toM := r[k].ToM
		for ; vertex < line.Len()-1; vertex++ {
			d := distM(line.At(vertex-1), line.At(vertex))
			if planM+d >= toM {
				break
			}
			planM += d
		}
		share := (toM - planM) / distM(line.At(vertex-1), line.At(vertex))
		from, to := line.ChainageM(vertex-1), line.ChainageM(vertex)
		r[k].ToM = from + share*(to-from)
		r[k+1].FromM = r[k].ToM
	}
	r[len(r)-1].ToM = line.GroundM()
	return r
}
