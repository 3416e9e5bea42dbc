package terrain

import "math"

// steepest slides a chord of chordM plan length along the row and finds the
// greatest change of a quantity between its ends, signed, in percent of the
// chord, and the ground chainage of the chord's middle. Between the places
// where an end passes from panel to panel the change is a parabola, of which
// ends and vertex are looked at.
func (d *Draper) steepest(what int, chordM float64) (pct, atM float64) {
	ps := d.panels
	n := len(ps) - 1
	end := ps[n].endM() - chordM
	best, where := 0.0, math.NaN()
	look := func(change, s float64) {
		if math.IsNaN(where) || math.Abs(change) > math.Abs(best) {
			best, where = change, s
		}
	}
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
			change := func(s float64) float64 { return ps[j].value(what, s+chordM) - ps[i].value(what, s) }
			v := [3]float64{change(s), change((s + to) / 2), change(to)}
			look(v[0], s)
			look(v[2], to)
			if x, ok := vertexOf(v); ok {
				look(quadratic(v, x), s+x*(to-s))
			}
		}
		if to >= end {
			break
		}
		if j < n && to >= ps[j].endM()-chordM {
			onward()
		}
		if to >= ps[i].endM() {
			i++
		}
		s = to
	}
	if math.IsNaN(where) {
		return 0, 0
	}
	return 100 * best / chordM / d.frame.GroundFactor(), d.chainageAt(where + chordM/2)
}

func (p *panel) endM() float64 { return p.planM + p.lengthM }

// value is the quantity at plan length s of the row, which lies in the panel.
func (p *panel) value(what int, s float64) float64 {
	return quadratic(p.q[what], (s-p.planM)/p.lengthM)
}

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
