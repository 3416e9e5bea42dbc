package contour

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"github.com/paulmach/orb"
)

// Repeat is what a receiver can do that takes one curve and repeats it at
// constant spacing.
type Repeat struct {
	// Guide is the curve to give it, straight beyond the rows; empty if there
	// is none.
	Guide orb.LineString
	// First and Last are the passes to use it for, left of its direction
	// positive; WorstM is how far planned rows among them lie from the passes.
	First, Last int
	WorstM      float64
	// ServedM is the length of the rows among them, ServedRatio its share of
	// all; OtherM is the worst deviation over all rows.
	ServedM, ServedRatio float64
	OtherM               float64
	Whole                bool // every row is served
	Text                 string
}

// repeatTries is how many rows, the longest, are tried as guides.
const repeatTries = 12

// Repeatability finds the curve whose repeats serve the greatest length of the
// rows of one block within limitM, and from which pass to which. Guides and the
// longest rows are tried; a row counts as the pass it is nearest to on the mean,
// and deviates by the greatest distance of its vertices, and of places 2 m apart
// between, from the exact offset there. A pass with a row beyond the limit ends
// the range. Rows are those of a layout, reachM is how far the curve must run
// on beyond them. Without rows the Repeat is empty.
func Repeatability(rows []Row, guides []Guide, lim Limits, reachM, limitM float64) Repeat {
	var best Repeat
	for _, c := range repeatGuides(rows, guides, reachM, &lim) {
		r := repeatBy(c, rows, &lim, limitM)
		// Less than a hundredth more is no more.
		if len(best.Guide) == 0 || r.ServedM > 1.01*best.ServedM || (r.ServedM >= best.ServedM && r.WorstM < best.WorstM) {
			best = r
		}
	}
	if len(best.Guide) > 0 {
		best.Text = best.say(limitM)
	}
	return best
}

func repeatGuides(rows []Row, guides []Guide, reachM float64, lim *Limits) (out []*Curve) {
	for _, g := range guides {
		if c := NewCurve(g.Curve); c != nil {
			out = append(out, c)
		}
	}
	rows = bridged(rows, lim)
	order := make([]int, len(rows))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(lengthM(rows[b].Line), lengthM(rows[a].Line)) })
	for _, i := range order[:min(repeatTries, len(order))] {
		pts := runOn(slices.Clone(rows[i].Line), reachM, 2*lim.SpacingM)
		slices.Reverse(pts)
		pts = runOn(pts, reachM, 2*lim.SpacingM)
		slices.Reverse(pts)
		if c := NewCurve(pts); c != nil {
			out = append(out, c)
		}
	}
	return out
}

// bridged is rows whose pieces are joined across gaps as narrow as an alley: a
// guide may run on where no row is laid.
func bridged(rows []Row, lim *Limits) (out []Row) {
	for _, r := range rows {
		if n := len(out); n > 0 && out[n-1].Number == r.Number && out[n-1].Zone == r.Zone {
			if line := out[n-1].Line; distM(line[len(line)-1], r.Line[0]) <= bridgeSpacings*lim.SpacingM {
				out[n-1].Line = append(slices.Clip(line), r.Line...)
				continue
			}
		}
		out = append(out, r)
	}
	return out
}

// bridgeSpacings is the widest gap that a guide is led across, in spacings
// (common practice, no source).
const bridgeSpacings = 3

// strayed is a row against the passes of a guide.
type strayed struct {
	pass          int
	worstM, planM float64
}

// repeatBy measures all rows by one guide.
func repeatBy(c *Curve, rows []Row, lim *Limits, limitM float64) Repeat {
	r := Repeat{Guide: c.Line()}
	worst := map[int]float64{}
	var list []strayed
	var total float64
	for i := range rows {
		if s, ok := c.stray(rows[i].Line, lim.SpacingM); ok {
			list = append(list, s)
			worst[s.pass] = max(worst[s.pass], s.worstM)
			total += s.planM
			r.OtherM = max(r.OtherM, s.worstM)
		}
	}
	r.First, r.Last = bestRange(list, worst, limitM)
	for _, s := range list {
		if r.First <= s.pass && s.pass <= r.Last {
			r.ServedM += s.planM
			r.WorstM = max(r.WorstM, s.worstM)
		}
	}
	if total > 0 {
		r.ServedRatio = r.ServedM / total
	}
	r.Whole = r.OtherM <= limitM && total > 0
	return r
}

// stray is a row's pass and its worst deviation from it.
func (c *Curve) stray(line orb.LineString, spacingM float64) (s strayed, ok bool) {
	row := newChain(line)
	if len(row.m) < 2 {
		return s, false
	}
	s.planM = row.lengthM()
	var at []float64
	for i := 1; i < len(row.line); i++ {
		n := max(1, int(math.Ceil((row.m[i]-row.m[i-1])/stationM)))
		for k := range n {
			d, _ := c.SignedM(along(row.line[i-1], row.line[i], float64(k)/float64(n)))
			at = append(at, d)
		}
	}
	d, _ := c.SignedM(row.line[len(row.line)-1])
	at = append(at, d)
	var sum float64
	for _, d := range at {
		sum += d
	}
	s.pass = int(math.Round(sum / float64(len(at)) / spacingM))
	for _, d := range at {
		s.worstM = max(s.worstM, math.Abs(d-spacingM*float64(s.pass)))
	}
	return s, true
}

// bestRange is the passes in a row, none of them beyond the limit, with the
// greatest length of row; last < first for none.
func bestRange(list []strayed, worst map[int]float64, limitM float64) (first, last int) {
	first, last = 0, -1
	slices.SortStableFunc(list, func(a, b strayed) int { return cmp.Compare(a.pass, b.pass) })
	var most float64
	for i := 0; i < len(list); {
		j, sum := i, 0.0
		for j < len(list) && worst[list[j].pass] <= limitM {
			sum += list[j].planM
			j++
		}
		if sum > most {
			most, first, last = sum, list[i].pass, list[j-1].pass
		}
		i = max(j, i+1)
	}
	return first, last
}

func (r *Repeat) say(limitM float64) string {
	switch {
	case r.Whole:
		return fmt.Sprintf("one curve repeated serves every row within %.2f m: passes %+d to %+d, worst %.2f m", limitM, r.First, r.Last, r.WorstM)
	case r.Last < r.First:
		return fmt.Sprintf("no curve repeated serves any row within %.2f m: give the receiver every row as a line of its own", limitM)
	}
	if r.First == r.Last {
		return fmt.Sprintf("one curve repeated cannot serve rows within %.2f m of where they are planned (up to %.1f m off): give the receiver every row as a line of its own", limitM, r.OtherM)
	}
	return fmt.Sprintf("one curve repeated cannot serve all rows within %.2f m (up to %.1f m off): use it for passes %+d to %+d only, %.0f %% of the length of rows; the others need lines of their own",
		limitM, r.OtherM, r.First, r.Last, 100*r.ServedRatio)
}
