package terrain

import (
	"math"
	"slices"

	"github.com/paulmach/orb"

	"hemrow/geo"
)

// line is the row as a line with heights: of the starts of panels, those are
// kept that the straight pieces between them need to stay within half of
// geo.DrapeZM of all others. A panel itself strays by no more than the other
// half.
func (d *Draper) line(end orb.Point, groundM float64) geo.Line {
	n := d.thin() + 1
	flat := make([]float64, 0, geo.LineStride*n)
	for i := range d.panels {
		p := &d.panels[i]
		if p.kept {
			flat = append(flat, p.at[0], p.at[1], d.heightAt(i), p.chainM)
		}
	}
	last := d.panels[len(d.panels)-1]
	z := math.NaN()
	if last.covered {
		z = last.q[heights].at(last.lengthM)
	}
	return geo.LineOfFlat(append(flat, end[0], end[1], z, groundM))
}

// heightAt is the height where panel i starts, from whichever side knows it.
func (d *Draper) heightAt(i int) float64 {
	switch {
	case d.panels[i].covered:
		return d.panels[i].q[heights].start
	case i > 0 && d.panels[i-1].covered:
		return d.panels[i-1].q[heights].at(d.panels[i-1].lengthM)
	}
	return math.NaN()
}

// thin marks the starts to keep and returns their number.
func (d *Draper) thin() (kept int) {
	d.showGaps()
	var c cone
	for i := range d.panels {
		p := &d.panels[i]
		switch {
		case i == 0 || p.corner || !p.covered || !d.panels[i-1].covered:
			p.kept = p.kept || i == 0 || p.corner || p.covered != d.panels[i-1].covered
			c = newCone(p)
		case !c.reaches(p.planM, p.q[heights].start):
			q := &d.panels[i-1]
			q.kept = true
			c = newCone(q)
			c.reaches(p.planM, p.q[heights].start)
		}
		// The end of a stretch is a vertex too: it must be in reach.
		if p.covered && d.lastOf(i) && !c.reaches(p.endM(), p.q[heights].at(p.lengthM)) {
			p.kept = true
		}
	}
	for i := range d.panels {
		if d.panels[i].kept {
			kept++
		}
	}
	return kept
}

// lastOf reports whether a vertex is bound to follow panel i.
func (d *Draper) lastOf(i int) bool {
	return i+1 == len(d.panels) || d.panels[i+1].corner || !d.panels[i+1].covered
}

// showGaps divides each panel without terrain between two with, so that the
// gap gets a vertex without height.
func (d *Draper) showGaps() {
	for i := 1; i+1 < len(d.panels); i++ {
		if d.panels[i].covered || !d.panels[i-1].covered || !d.panels[i+1].covered {
			continue
		}
		p := &d.panels[i]
		p.lengthM /= 2
		p.groundM /= 2
		q := *p
		q.corner, q.kept = false, true
		q.at = along(p.at, d.panels[i+1].at, 0.5)
		q.planM += p.lengthM
		q.chainM += p.groundM
		i++
		d.panels = slices.Insert(d.panels, i, q)
	}
}

// cone is the slopes from one vertex that pass all places since within half of
// geo.DrapeZM.
type cone struct {
	planM, z float64
	low      float64 // slopes
	high     float64
}

func newCone(p *panel) cone {
	return cone{p.planM, p.q[heights].start, math.Inf(-1), math.Inf(1)}
}

// reaches reports whether the place can be the next vertex, and narrows the
// cone so that it will be passed if it is not.
func (c *cone) reaches(planM, z float64) bool {
	run := planM - c.planM
	slope, give := (z-c.z)/run, geo.DrapeZM/2/run
	ok := slope >= c.low && slope <= c.high
	c.low = max(c.low, slope-give)
	c.high = min(c.high, slope+give)
	return ok
}
