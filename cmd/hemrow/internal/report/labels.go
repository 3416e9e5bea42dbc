package report

import (
	"math"
	"slices"
	"strconv"

	"hemrow/cmd/hemrow/internal/result"
)

const (
	numberMM = 2.3 // size of row numbers: 6.5 points, the least that copies well
	nameMM   = 2.9 // size of names on the map
	endMM    = 2.0 // half the size of the letters A and B with their ring
)

// labels places lettering on the map so that none overlaps another.
type labels struct {
	*crowd
	sheet sheet
	out   []lettering
	ends  []endMark
}

// endMark is the letter of a row end in a ring.
type endMark struct {
	letter string
	at     point
}

// rowEnd is the end of a row on the page, and the direction out of the row.
type rowEnd struct{ at, out point }

// alongMM is how much of a bent row tells the direction of its end.
const alongMM = 4.0

// rowEnds are the outer ends of a row. A straight row has one direction from
// end to end, a bent one its own at each end.
func (l *labels) rowEnds(r result.Row, bent bool) (a, b rowEnd) {
	first, last := r.Pieces[0].LineLocal, r.Pieces[len(r.Pieces)-1].LineLocal
	a.at, b.at = l.sheet.at(first[0]), l.sheet.at(last[len(last)-1])
	if !bent {
		b.out = toward(a.at, b.at)
		a.out = point{-b.out.x, -b.out.y}
		return a, b
	}
	from := l.within(a.at, len(first), func(i int) result.XY { return first[i] })
	a.out = toward(from, a.at)
	from = l.within(b.at, len(last), func(i int) result.XY { return last[len(last)-1-i] })
	b.out = toward(from, b.at)
	return a, b
}

// within is the first of n vertices that is far enough from an end to tell its
// direction, or the last of all.
func (l *labels) within(end point, n int, vertex func(i int) result.XY) (p point) {
	for i := 1; i < n; i++ {
		if p = l.sheet.at(vertex(i)); math.Hypot(p.x-end.x, p.y-end.y) >= alongMM {
			break
		}
	}
	return p
}

// everyth is the step in which rows are numbered: 1, 2, 5, 10, … so that the
// numbers do not run into each other.
func everyth(spacingMM float64) int {
	for ten := 1; ; ten *= 10 {
		for _, k := range [...]int{1, 2, 5} {
			if float64(k*ten)*spacingMM >= numberMM || ten > 1e6 {
				return k * ten
			}
		}
	}
}

// rowNumbers writes numbers at both ends: of the first and last row of every
// block in any case; of the first and last of each zone, and then of the others
// at round steps, where there is room.
func (l *labels) rowNumbers(d result.Document) {
	done := make(map[int]bool, len(d.Rows))
	write := func(r result.Row, always bool) {
		if !done[r.Number] {
			done[r.Number] = true
			l.rowNumber(r, follows(d.Blocks[r.BlockNo-1]), always)
		}
	}
	for _, r := range d.Rows {
		if b := d.Blocks[r.BlockNo-1]; r.Number == b.FirstRowNo || r.Number == b.LastRowNo {
			write(r, true)
		}
	}
	for i := range d.Blocks {
		if zones := zonesOf(d, i); len(zones) > 1 {
			for _, z := range zones {
				write(z[0], false)
				write(z[len(z)-1], false)
			}
		}
	}
	for _, r := range d.Rows {
		if r.Number%everyth(d.Blocks[r.BlockNo-1].SpacingM*l.sheet.mmPerM) == 0 {
			write(r, false)
		}
	}
}

// zonesOf are the rows of a block by zone, the zone with most rows first.
func zonesOf(d result.Document, block int) (zones [][]result.Row) {
	b := d.Blocks[block]
	if b.Tally.Rows == 0 {
		return nil
	}
	at := map[int]int{}
	for _, r := range d.Rows[b.FirstRowNo-1 : b.LastRowNo] {
		if _, there := at[r.Zone]; !there {
			at[r.Zone] = len(zones)
			zones = append(zones, nil)
		}
		zones[at[r.Zone]] = append(zones[at[r.Zone]], r)
	}
	slices.SortStableFunc(zones, func(a, b []result.Row) int { return len(b) - len(a) })
	return zones
}

// How far from the row's end a number may stand; those of the first and last
// rows may go farther.
var (
	gapsMM    = []float64{0.6, 1.2, 2, 3, 4.2, 5.4, 6.8, 8.4}
	farGapsMM = []float64{11, 15, 20, 26, 33}
)

func (l *labels) rowNumber(r result.Row, bent, always bool) {
	text := strconv.Itoa(r.Number)
	a, b := l.rowEnds(r, bent)
	l.number(text, b.at, b.out, always)
	l.number(text, a.at, a.out, always)
}

// number writes a row's number beyond its end, along the row.
func (l *labels) number(text string, end, out point, always bool) {
	half := widthMM(text, numberMM) / 2
	box := func(gap float64) boxMM {
		return boxMM{c: end.plus(out, gap+half), u: out, hu: half, hv: 0.42 * numberMM}
	}
	gaps := gapsMM
	if always {
		gaps = append(gaps[:len(gaps):len(gaps)], farGapsMM...)
	}
	for _, gap := range gaps {
		if b := box(gap); l.free(b) {
			l.writeNumber(text, b)
			return
		}
	}
	if !always {
		return
	}
	for _, gap := range gaps { // on a line rather than not at all
		if b := box(gap); l.onPage(b) && !l.lettered(b) {
			l.writeNumber(text, b)
			return
		}
	}
}

func (l *labels) writeNumber(text string, b boxMM) {
	turn := math.Atan2(b.u.y, b.u.x) * 180 / math.Pi
	if turn >= 90 {
		turn -= 180
	} else if turn < -90 {
		turn += 180
	}
	l.addBox(b)
	// the baseline lies below the middle by half the height of a digit
	rad := turn * math.Pi / 180
	down := point{-math.Sin(rad), math.Cos(rad)}
	l.out = append(l.out, lettering{
		text: text, at: b.c.plus(down, 0.36*numberMM), sizeMM: numberMM, anchor: "middle", turn: turn, halo: true,
	})
}

// endMarks puts A and B beyond the ends of a row near the middle of a block, and
// of every zone where there is room.
func (l *labels) endMarks(d result.Document, block int) {
	for i, rows := range zonesOf(d, block) {
		for _, end := range [...]string{"A", "B"} {
			l.endMark(rows, end, follows(d.Blocks[block]), i == 0)
		}
	}
}

func (l *labels) endMark(rows []result.Row, letter string, bent, always bool) {
	box := func(c point) boxMM { return boxMM{c: c, u: point{1, 0}, hu: endMM, hv: endMM} }
	try := func(ok func(boxMM) bool) bool {
		for _, gap := range [...]float64{3, 5, 7, 9, 12} {
			for k := range len(rows) { // from the middle outward, by turns
				i := len(rows)/2 + (k+1)/2*(1-k%2*2)
				if i < 0 || i >= len(rows) || k > 40 {
					continue
				}
				end, b := l.rowEnds(rows[i], bent)
				if letter == "B" {
					end = b
				}
				if m := box(end.at.plus(end.out, gap)); ok(m) {
					l.addBox(m)
					l.ends = append(l.ends, endMark{letter, m.c})
					return true
				}
			}
		}
		return false
	}
	if !try(l.free) && always {
		try(func(m boxMM) bool { return l.onPage(m) && !l.lettered(m) })
	}
}

// level writes a height on its line, at the first vertex where it is in
// nobody's way; on a crowded map it is left out.
func (l *labels) level(text string, line []result.XY) {
	half := widthMM(text, nameMM) / 2
	for _, p := range line {
		b := boxMM{c: l.sheet.at(p), u: point{1, 0}, hu: half, hv: 0.55 * nameMM}
		if l.free(b) {
			l.writeName(text, b, false)
			return
		}
	}
}

// name writes a name on the map: in the middle of its ground if nothing else
// stands there, or above or below it.
func (l *labels) name(text string, b bounds, bold, middle bool) {
	text = fitted(text, nameMM, 2*mostBoxMM-6)
	if text == "" {
		return
	}
	half := widthMM(text, nameMM) / 2
	if bold {
		half *= 1.1
	}
	lo, hi := l.sheet.at(result.XY{b.x0, b.y1}), l.sheet.at(result.XY{b.x1, b.y0})
	mid := point{(lo.x + hi.x) / 2, (lo.y + hi.y) / 2}
	var tries []point
	if middle && hi.x-lo.x > 2*half && hi.y-lo.y > 1.6*nameMM {
		tries = append(tries, mid)
	}
	for _, gap := range [...]float64{2.2, 4, 6, 8} {
		tries = append(tries, point{mid.x, lo.y - gap}, point{mid.x, hi.y + gap})
	}
	box := func(c point) boxMM { return boxMM{c: c, u: point{1, 0}, hu: half, hv: 0.55 * nameMM} }
	if !middle {
		for _, c := range tries {
			if l.free(box(c)) {
				l.writeName(text, box(c), bold)
				return
			}
		}
	}
	for _, c := range append(tries, mid) {
		if b := box(c); l.onPage(b) && !l.lettered(b) {
			l.writeName(text, b, bold)
			return
		}
	}
}

func (l *labels) writeName(text string, b boxMM, bold bool) {
	l.addBox(b)
	l.out = append(l.out, lettering{
		text: text, at: point{b.c.x, b.c.y + 0.36*nameMM}, sizeMM: nameMM, anchor: "middle", bold: bold, halo: true,
	})
}
