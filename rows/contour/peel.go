package contour

import (
	"context"
	"fmt"
	"slices"

	"github.com/paulmach/orb"

	"hemrow/geo"
	"hemrow/geo/polygon"
)

const (
	peelRounds = 2
	mostParts  = 6 // of the ground left, tried in one round
	partStarts = 2 // taken to the finest level for each
	// leastGain is what a restart must add to the score: its point rows are
	// a nuisance that the price of a piece does not cover (common practice, no
	// source).
	leastGain = 0.002
	// runSpacings is the shortest run that is kept, in spacings, and a tenth of
	// the width, in spacings, of the smallest part of that length that is tried:
	// where rows may be shorter, shorter runs between new fields would fray them.
	runSpacings = 6
	// bridgeM and tailM are the lengths of row outside a limit that it is
	// cheaper to bear within a good row and at its end than to cut out.
	bridgeM = 15
	tailM   = 8
	// corridor is the half width of the ground that a kept row takes, in
	// spacings: new rows come no nearer to it.
	corridor = 0.93
	// inlineRatio is how far to the side, in spacings, a place may lie and
	// still be straight ahead.
	inlineRatio = 0.2
	// shortestM is the shortest line that is kept as a piece of row at all:
	// there is no room for a plant in less (common practice, no source).
	shortestM = 1.0
)

// Peel keeps the good runs of rows of a layout and fits new fields to the
// ground that is left, part by part, wherever that raises the score: a new
// baseline where the old one has run too far. Zone tells the fields apart. The
// result is the layout itself where nothing helps; after [Break] its JRatio is
// never lower.
// It is deterministic like [Fit], and rows of different zones keep at least
// 0.93 spacings apart, except where their ends meet.
//
// Source of the practice: NRCS Conservation Practice Standard 331, Contour
// Orchard and Other Perennial Crops: where the row reaches the greatest grade,
// a new baseline is set up and used for the next pattern.
func Peel(ctx context.Context, site Site, lim Limits, from Layout) (Layout, error) {
	return peelOver(ctx, site, lim, from, 0, nil)
}

// peelOver is Peel that tells of its steps and leaves a part as it was where new
// rows would have all of them, unbroken, cover less than floor of the area.
func peelOver(ctx context.Context, site Site, lim Limits, from Layout, floor float64, tell func(name string)) (Layout, error) {
	if err := lim.Validate(); err != nil {
		return Layout{}, fmt.Errorf("limits of contour rows: %w", err)
	}
	if len(site.Area) == 0 {
		return from, nil
	}
	p := &peeler{site: site, lim: &lim, now: from, floor: floor, tell: tell}
	p.whole, p.index = regionOf(site.Area)
	p.fresh = &judging{raw: site.Raw, lim: &lim}
	rows, _ := Break(from.Rows, lim)
	p.broken = merit(p.fresh.of(rows).st, polygon.TotalAreaM2(site.Area), &lim)
	changed := false
	for range peelRounds {
		gained, err := p.round(ctx)
		if err != nil {
			return Layout{}, err
		}
		if !gained {
			break
		}
		changed = true
	}
	if changed {
		p.now.Score = Judge(p.now.Rows, site.Area, site.Raw, lim)
	}
	return p.now, nil
}

// peeler is the state of one Peel.
type peeler struct {
	site  Site
	lim   *Limits
	whole *region
	index *polygon.Index // of the area's borders
	fresh *judging       // of no rows
	now   Layout
	// broken is the merit of now after Break, as for Fitted.
	broken float64
	floor  float64 // share of the area, before Break
	tell   func(name string)
}

// round divides the rows once and tries every part that is left.
func (p *peeler) round(ctx context.Context) (gained bool, err error) {
	kept, dropped := p.divide(p.now.Rows)
	if len(kept) == 0 || len(dropped) == 0 || ctx.Err() != nil {
		return false, ctx.Err()
	}
	rest := newRemainder(p.whole, kept, p.lim)
	parts := rest.parts(10 * p.lim.SpacingM * p.lim.runM())
	parts = parts[:min(len(parts), mostParts)]
	for i, part := range parts {
		if err := ctx.Err(); err != nil {
			return false, err
		}
		r := part.region()
		others := cutAll(&outside{part}, dropped)
		ft := &fitter{region: r, site: p.site, lim: p.lim, keep: partStarts}
		ft.tell = &progress{step: p.tell, prefix: fmt.Sprintf("restarting in part %d of %d: ", i+1, len(parts))}
		ft.cut = &inside{part, &ground{p.site.Area, p.index}}
		zone := nextZone(p.now.Rows)
		ft.assemble = func(rows []Row) []Row {
			for i := range rows {
				rows[i].Zone = zone
			}
			return clearEnds(join(slices.Concat(kept, others, rows), p.lim), p.lim)
		}
		common, _ := breakTight(ft.assemble(nil), *p.lim)
		ft.cleared = clearAll(common, p.lim, nil)
		ft.base = p.fresh.of(ft.cleared.result())
		trial, err := ft.fit(ctx)
		if err != nil {
			return false, err
		}
		covers := p.lim.SpacingM * totalM(trial.Rows) / polygon.TotalAreaM2(p.site.Area)
		if len(trial.Rows) > 0 && trial.broken > p.broken+leastGain && covers >= p.floor {
			p.now, p.broken, gained = trial.Layout, trial.broken, true
			dropped = slices.Concat(others, trial.own)
		}
	}
	return gained, nil
}

// runM is the shortest run that a restart keeps.
func (l *Limits) runM() float64 { return max(l.ShortM, runSpacings*l.SpacingM) }

func nextZone(rows []Row) (zone int) {
	for _, r := range rows {
		zone = max(zone, r.Zone)
	}
	return zone + 1
}

// divide parts rows into runs that keep the limits, short stretches apart, and
// the rest.
func (p *peeler) divide(rows []Row) (kept, dropped []Row) {
	st := p.fresh.of(rows).st
	for i, r := range rows {
		c := newChain(r.Line)
		good := goodRuns(st[i])
		at := 0.0
		add := func(dst []Row, from, to float64) []Row {
			if line := c.piece(from, to); len(line) > 1 {
				dst = append(dst, Row{line, r.Number, r.Zone})
			}
			return dst
		}
		for _, g := range good {
			if g[1]-g[0] < p.lim.runM() {
				continue
			}
			dropped = add(dropped, at, g[0])
			kept = add(kept, g[0], g[1])
			at = g[1]
		}
		dropped = add(dropped, at, c.lengthM())
	}
	return kept, dropped
}

// goodRuns are the stretches of a row within limits, joined across short bad
// ones.
func goodRuns(row []station) (out [][2]float64) {
	for i := range row {
		s := &row[i]
		if s.faults&^NoGround != 0 {
			continue
		}
		if n := len(out); n > 0 && s.fromM-out[n-1][1] <= bridgeM {
			out[n-1][1] = s.toM
		} else {
			out = append(out, [2]float64{s.fromM, s.toM})
		}
	}
	if n := len(out); n > 0 {
		if out[0][0] <= tailM {
			out[0][0] = 0
		}
		if end := row[len(row)-1].toM; end-out[n-1][1] <= tailM {
			out[n-1][1] = end
		}
	}
	return out
}

// cutAll cuts rows, keeping number and zone.
func cutAll(c cutter, rows []Row) (out []Row) {
	for _, r := range rows {
		for _, piece := range c.cut(r.Line, stay) {
			out = append(out, Row{piece, r.Number, r.Zone})
		}
	}
	return out
}

// piece is the line from chainage a to b, which share no vertex nearer than
// rounding.
func (c *chain) piece(a, b float64) (line []orb.Point) {
	if len(c.m) < 2 || b-a < shortestM {
		return nil
	}
	p, i := c.at(a, 0)
	q, j := c.at(b, i)
	line = append(line, p)
	for k := i + 1; k <= j; k++ {
		if c.m[k]-a > geo.CoincidentM && b-c.m[k] > geo.CoincidentM {
			line = append(line, c.line[k])
		}
	}
	return append(line, q)
}
