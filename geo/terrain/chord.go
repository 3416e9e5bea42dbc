package terrain

import "math"

// chordEnds is the greatest change of a quantity between the ends of a chord,
// and the plan length at which the chord starts; size is -1 before any.
type chordEnds struct{ change, size, atM float64 }

func (c *chordEnds) look(change, atM float64) {
	if size := math.Abs(change); size > c.size {
		*c = chordEnds{change, size, atM}
	}
}

// steepest slides a chord of chordM plan length along the row and finds the
// greatest change of each quantity between its ends. Between the places where
// an end passes from panel to panel the change is a parabola, of which ends and
// vertex are looked at.
func (d *Draper) steepest(chordM float64) (best [2]chordEnds) {
	best[heights].size, best[sides].size = -1, -1
	ps := d.panels
	n := len(ps) - 1
	end := ps[n].endM() - chordM
	i, j, gap := 0, -1, -1 // panels of the two ends, last panel up to j without terrain
	onward := func() {
		if j++; !ps[j].covered {
			gap = j
		}
	}
	for onward(); j < n && ps[j].endM() <= chordM; {
		onward()
	}
	for s := 0.0; ; {
		to := min(end, ps[i].endM())
		if j < n {
			to = min(to, ps[j].endM()-chordM)
		}
		to = max(s, to)
		if gap < i {
			for what := range best {
				best[what].slide(&ps[i], &ps[j], what, s, s+chordM, to-s)
			}
		}
		if to >= end {
			return best
		}
		if j < n && to >= ps[j].endM()-chordM {
			onward()
		}
		if to >= ps[i].endM() {
			i++
		}
		s = to
	}
}

// slide looks at the chords that start in panel p from plan length s on, over
// the next l, and end in panel q from plan length e on.
func (c *chordEnds) slide(p, q *panel, what int, s, e, l float64) {
	from, to := &p.q[what], &q.q[what]
	x, y := s-p.planM, e-q.planM
	change := to.at(y) - from.at(x)
	slope := to.slope + 2*y*to.bend - from.slope - 2*x*from.bend
	bend := to.bend - from.bend
	c.look(change, s)
	c.look(change+l*(slope+l*bend), s+l)
	if t, ok := turn(slope, bend, l); ok {
		c.look(change+t*(slope+t*bend), s+t)
	}
}

// chord is that change in percent of the chord, and the ground chainage of the
// chord's middle.
func (d *Draper) chord(c chordEnds, chordM float64) (pct, atM float64) {
	if c.size < 0 {
		return 0, 0
	}
	return 100 * c.change / chordM / d.frame.GroundFactor(), d.chainageAt(c.atM + chordM/2)
}

func (p *panel) endM() float64 { return p.planM + p.lengthM }

// chainageAt is the ground chainage at plan length s.
func (d *Draper) chainageAt(s float64) float64 {
	lo, hi := 0, len(d.panels)
	for hi-lo > 1 {
		if mid := (lo + hi) / 2; d.panels[mid].planM <= s {
			lo = mid
		} else {
			hi = mid
		}
	}
	p := &d.panels[lo]
	return p.chainM + (s-p.planM)/p.lengthM*p.groundM
}
