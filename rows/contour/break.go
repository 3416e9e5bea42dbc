package contour

import (
	"math"
	"slices"

	"github.com/paulmach/orb"

	"hemrow/geo"
)

// Gap is a place where a row was broken.
type Gap struct {
	Number  int       // of the row
	At      orb.Point // the tightest place
	RadiusM float64   // asked there
	GapM    float64   // taken out of the row
}

// Break takes out of rows what is tighter than the least radius, and at least
// GapM around it, and opens closed rows by such a gap at their sharpest place,
// since a machine must get in and out. Where two rows still come nearer than
// 0.05 spacings below the window, the shorter gives way. What is left is not
// tighter anywhere, by the measure of [Judge]; pieces that no longer pay (TurnM) are dropped. Gaps for
// tightness are listed, in the order of the rows.
func Break(rows []Row, lim Limits) (out []Row, gaps []Gap) {
	out, gaps = breakTight(rows, lim)
	return clearAll(out, &lim, nil).result(), gaps
}

// breakTight is Break without regard to neighbours.
func breakTight(rows []Row, lim Limits) (out []Row, gaps []Gap) {
	for _, r := range rows {
		c := newChain(r.Line)
		if len(c.m) < 2 {
			continue
		}
		ring := len(c.m) > 3 && distM(c.line[0], c.line[len(c.line)-1]) < geo.CoincidentM
		if ring {
			c = c.openAt(c.sharpest(&lim))
		}
		taken := c.tight(&lim, ring)
		at := 0.0
		for _, t := range append(taken, [2]float64{c.lengthM(), c.lengthM()}) {
			if line := c.easyPart(at, t[0], &lim); line != nil {
				out = append(out, Row{line, r.Number, r.Zone})
			}
			at = t[1]
		}
		gaps = append(gaps, c.gaps(taken, r.Number, &lim)...)
	}
	return out, gaps
}

// sharpest is the vertex of a ring with the greatest curvature.
func (c *chain) sharpest(lim *Limits) (best int) {
	bends := c.bends(lim)
	for i, k := range bends {
		if k > bends[best] {
			best = i
		}
	}
	return best
}

// openAt is a ring that starts and ends at vertex i.
func (c *chain) openAt(i int) chain {
	n := len(c.line) - 1
	return newChain(slices.Concat(c.line[i:n], c.line[:i+1]))
}

// tight are the stretches to take out, widened to the gap and merged. A ring
// also loses its two ends.
func (c *chain) tight(lim *Limits, ring bool) (out [][2]float64) {
	end := c.lengthM()
	if ring {
		out = append(out, [2]float64{0, min(end, lim.GapM/2)})
	}
	st := c.stations(lim)
	for i := 0; i < len(st); i++ {
		from := st[i].fromM
		if st[i].curve*lim.RadiusM <= 1 {
			continue
		}
		for i+1 < len(st) && st[i+1].curve*lim.RadiusM > 1 {
			i++
		}
		out = widen(out, from, st[i].toM, end, lim.GapM)
	}
	if ring {
		from := max(0, end-lim.GapM/2)
		for len(out) > 0 && out[len(out)-1][1] >= from {
			from = min(from, out[len(out)-1][0])
			out = out[:len(out)-1]
		}
		out = append(out, [2]float64{from, end})
	}
	return out
}

// easyPart is a part of the row, eased; nil if it does not pay.
func (c *chain) easyPart(from, to float64, lim *Limits) orb.LineString {
	least := max(shortestM, lim.TurnM)
	if to-from < least {
		return nil
	}
	p := newChain(c.piece(from, to))
	p.ease(lim)
	if len(p.m) < 2 || p.lengthM() < least {
		return nil
	}
	return p.line
}

// Ease takes off the ends of a row that has been cut what the cut has left so
// short that the turn into it is sharper than the least radius. A row that keeps
// the radius as a whole loses a segment at each end at most; of two segments the
// longer is left.
func Ease(line orb.LineString, lim Limits) orb.LineString {
	c := newChain(line)
	c.ease(&lim)
	return c.line
}

func (c *chain) ease(lim *Limits) {
	for len(c.m) > 2 {
		b := c.bends(lim)
		switch n := len(b); {
		case b[1]*lim.RadiusM > 1 && (n > 3 || c.m[1] < c.m[2]-c.m[1]):
			*c = newChain(c.line[1:])
		case b[n-2]*lim.RadiusM > 1:
			*c = newChain(c.line[:n-1])
		default:
			return
		}
	}
}

// gaps describes the stretches taken out.
func (c *chain) gaps(taken [][2]float64, number int, lim *Limits) (out []Gap) {
	bends := c.bends(lim)
	for _, t := range taken {
		g := Gap{Number: number, RadiusM: math.Inf(1), GapM: t[1] - t[0]}
		g.At, _ = c.at((t[0]+t[1])/2, 0)
		for i, k := range bends {
			if c.m[i] >= t[0] && c.m[i] <= t[1] && k > 0 && 1/k < g.RadiusM {
				g.At, g.RadiusM = c.line[i], 1/k
			}
		}
		out = append(out, g)
	}
	return out
}
