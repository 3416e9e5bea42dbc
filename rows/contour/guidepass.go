package contour

import (
	"cmp"
	"math"
	"slices"

	"github.com/paulmach/orb"

	"hemrow/geo"
	"hemrow/geo/polygon"
)

// pass is stretches of row at one distance from a guide.
type pass struct {
	number     int
	good, left [][]orb.Point // inside the grade for long enough; the rest
}

// passes lays rows by a guide on the ground that no other zone has taken, every
// stride-th of them. Without a limit of grade nothing is left over but what is
// too short.
func (f *filler) passes(c *candidate, zone, stride int, graded bool) (out []pass) {
	first, last := f.span(c.Curve)
	facing := c.facing(f.lim)
	errM := f.lim.ChordErrM / 20
	if stride > 1 { // to compare guides, less will do
		errM = f.lim.ChordErrM
	}
	first = stride * int(math.Ceil(float64(first)/float64(stride)))
	for k := first; k <= last; k += stride {
		p := pass{number: k}
		lines := f.free(c, k, zone, errM)
		if facing {
			lines = f.selfClear(lines)
		}
		for _, line := range lines {
			f.grade(&p, line, graded)
		}
		if len(p.good)+len(p.left) > 0 {
			out = append(out, p)
		}
	}
	return out
}

// span is the first and the last row that can meet the area.
func (f *filler) span(c *Curve) (first, last int) {
	lo, hi := math.Inf(1), math.Inf(-1)
	for _, poly := range f.site.Area {
		for _, p := range poly[0] {
			d, _ := c.SignedM(p)
			lo, hi = min(lo, d), max(hi, d)
		}
	}
	// Within the area the distance can exceed that at its border only on the
	// inner side of a closed guide, where no more than the border's own reach
	// is possible.
	if c.closed {
		lo, hi = min(lo, -c.LengthM()/(2*math.Pi)), max(hi, c.LengthM()/(2*math.Pi))
	}
	return int(math.Ceil(lo / f.lim.SpacingM)), int(math.Floor(hi / f.lim.SpacingM))
}

// free is what of row k lies on the area, bends no tighter than the machine and
// keeps clear of other zones.
func (f *filler) free(c *candidate, k, zone int, errM float64) (out [][]orb.Point) {
	for _, o := range c.Offset(float64(k)*f.lim.SpacingM, errM) {
		for _, easy := range o.easy(f.lim) {
			for _, line := range f.ground.cut(easy, func(cut, _ orb.Point) orb.Point { return cut }) {
				if line[0] == line[len(line)-1] {
					line = openRing(line, c.Curve, f.lim.GapM)
				}
				out = append(out, f.taken.clear(line, zone)...)
			}
		}
	}
	return out
}

// easy cuts a piece where it is tighter than the least radius, and takes out so
// much more around that a machine can leave it and begin anew.
func (o *Offset) easy(lim *Limits) [][]orb.Point {
	c := newChain(o.Line)
	if len(c.m) != len(o.Line) { // vertices in one place: nothing to tell
		return [][]orb.Point{c.line}
	}
	end := c.lengthM()
	keep := []span{{0, end}}
	for i, k := range o.CurvPerM {
		if !(math.Abs(k)*lim.RadiusM > 1) {
			continue
		}
		lo, hi := c.m[max(0, i-1)], c.m[min(len(c.m)-1, i+1)]
		lo, hi = (lo+c.m[i])/2, (hi+c.m[i])/2
		wider := max(0, lim.GapM-(hi-lo)) / 2
		keep = subtract(keep, lo-wider, hi+wider)
	}
	var out [][]orb.Point
	for _, p := range keep {
		if p.to-p.from >= geo.CoincidentM {
			out = append(out, c.stretch(p.from, p.to))
		}
	}
	if len(keep) == 1 && len(out) == 1 && keep[0].from == 0 && keep[0].to == end {
		return [][]orb.Point{o.Line} // a ring stays one, to the last digit
	}
	return rejoin(out, o.Line)
}

// stretch is the part of a chain between two chainages.
func (c *chain) stretch(from, to float64) (pts []orb.Point) {
	p, i := c.at(from, 0)
	pts = append(pts, p)
	for i++; i < len(c.m)-1 && c.m[i] < to; i++ {
		if c.m[i] > from {
			pts = append(pts, c.line[i])
		}
	}
	p, _ = c.at(to, max(0, i-1))
	return append(pts, p)
}

// openRing cuts a closed row where the alley out of its guide's middle crosses
// it, so wide that a machine can leave it.
func openRing(ring []orb.Point, guide *Curve, gapM float64) []orb.Point {
	mid := orb.MultiPoint(guide.pts).Bound().Center()
	out := orb.Point{guide.pts[0][0] - mid[0], guide.pts[0][1] - mid[1]}
	beside := func(p orb.Point) float64 { return out[0]*(p[1]-mid[1]) - out[1]*(p[0]-mid[0]) }
	at, start := 0, ring[0]
	for i := range len(ring) - 1 {
		a, b := beside(ring[i]), beside(ring[i+1])
		if a < 0 && b >= 0 && out[0]*(ring[i][0]-mid[0])+out[1]*(ring[i][1]-mid[1]) > 0 {
			at, start = i+1, along(ring[i], ring[i+1], a/(a-b))
			break
		}
	}
	turned := append([]orb.Point{start}, ring[at:len(ring)-1]...)
	turned = append(append(turned, ring[:at]...), start)
	c := newChain(turned)
	if c.lengthM() <= 2*gapM {
		return nil
	}
	return c.stretch(gapM/2, c.lengthM()-gapM/2)
}

// facing reports whether a guide turns so far that rows at one distance from it
// can come too near to each other: across a corner of the angle a, with half
// the gap taken out on each side, they are GapM cos(a/2) apart.
func (c *Curve) facing(lim *Limits) bool {
	var heading, lo, hi float64
	for _, t := range c.turn {
		heading += t
		lo, hi = min(lo, heading), max(hi, heading)
	}
	near, _ := lim.window()
	return c.closed || hi-lo >= math.Pi || lim.GapM*math.Cos((hi-lo)/2) < near
}

// selfClear cuts rows at one distance from a guide so that they keep the
// narrowest spacing from each other and from themselves, longer ones first.
func (f *filler) selfClear(lines [][]orb.Point) (out [][]orb.Point) {
	slices.SortStableFunc(lines, func(a, b []orb.Point) int { return cmp.Compare(lengthM(b), lengthM(a)) })
	near, _ := f.lim.window()
	for _, line := range lines {
		var segs [][2]orb.Point
		for _, o := range out {
			segs = appendSegments(segs, o)
		}
		others := polygon.NewSegmentIndex(segs)
		for _, piece := range clearOf(line, others, near, func(int, float64) bool { return true }) {
			out = append(out, f.unwind(piece, near)...)
		}
	}
	return out
}

// unwind cuts a line where it comes back to an earlier part of itself. Along a
// bend of the least radius places one spacing apart are less than half a turn
// apart along the line, under twice the distance; so twice the spacing along
// the line is the nearest that counts.
func (f *filler) unwind(line []orb.Point, near float64) [][]orb.Point {
	index := polygon.NewSegmentIndex(appendSegments(nil, line))
	c := newChain(line)
	if len(c.m) != len(line) {
		return [][]orb.Point{line}
	}
	return clearOf(line, index, near, func(i int, at float64) bool { return c.m[i+1]+2*f.lim.SpacingM < at })
}

func appendSegments(dst [][2]orb.Point, line []orb.Point) [][2]orb.Point {
	for i := 1; i < len(line); i++ {
		dst = append(dst, [2]orb.Point{line[i-1], line[i]})
	}
	return dst
}

// clearOf is what of a line is nowhere nearer than r to the indexed segments
// that count for a place at a chainage of the line.
func clearOf(line []orb.Point, index *polygon.Index, r float64, counts func(i int, at float64) bool) (out [][]orb.Point) {
	if index.Len() == 0 {
		return [][]orb.Point{line}
	}
	var piece []orb.Point
	var left []span
	at := 0.0
	flush := func() {
		if len(piece) > 1 && lengthM(piece) >= geo.CoincidentM {
			out = append(out, piece)
		}
		piece = nil
	}
	for i := 1; i < len(line); i++ {
		a, b := line[i-1], line[i]
		length := distM(a, b)
		if length < geo.CoincidentM {
			continue
		}
		u := orb.Point{(b[0] - a[0]) / length, (b[1] - a[1]) / length}
		left = append(left[:0], span{0, length})
		index.Search(orb.MultiPoint{a, b}.Bound().Pad(r), func(j int) bool {
			if c, d := index.Segment(j); counts(j, at) && c != d {
				m := distM(c, d)
				lo, hi := capsule(a, u, c, orb.Point{(d[0] - c[0]) / m, (d[1] - c[1]) / m}, m, r)
				left = subtract(left, lo, hi)
			}
			return len(left) > 0
		})
		at += length
		if len(left) == 0 {
			flush()
		}
		for _, p := range left {
			if p.from > 0 {
				flush()
			}
			if len(piece) == 0 {
				piece = append(piece, along(a, b, p.from/length))
			}
			if p.to < length {
				piece = append(piece, along(a, b, p.to/length))
				flush()
			} else {
				piece = append(piece, b)
			}
		}
	}
	flush()
	return out
}

// grade sorts the stretches of a row into those inside the greatest grade and
// others. A short stretch beyond it within a row, or at an end, is accepted.
func (f *filler) grade(p *pass, line []orb.Point, graded bool) {
	if !graded {
		p.sort(line, true, f.lim)
		return
	}
	c := newChain(line)
	st := c.stations(f.lim)
	c.grades(st, f.site.Raw, f.lim)
	bad := make([]bool, len(st))
	for i := range st {
		bad[i] = math.Abs(st[i].grade) > st[i].limit // unknown ground is not bad
	}
	forgive(bad, st)
	for i := 0; i < len(st); {
		j := i + 1
		for j < len(st) && bad[j] == bad[i] {
			j++
		}
		p.sort(c.stretch(st[i].fromM, st[j-1].toM), !bad[i], f.lim)
		i = j
	}
}

func (p *pass) sort(line []orb.Point, good bool, lim *Limits) {
	if good && lengthM(line) >= lim.ShortM {
		p.good = append(p.good, line)
	} else {
		p.left = append(p.left, line)
	}
}

// forgive clears the bad stretches that are cheaper to accept than to cut.
func forgive(bad []bool, st []station) {
	for i := 0; i < len(bad); {
		if !bad[i] {
			i++
			continue
		}
		j := i
		for j < len(bad) && bad[j] {
			j++
		}
		most := float64(shortBadM)
		if i == 0 || j == len(bad) {
			most = endBadM
		}
		if st[j-1].toM-st[i].fromM <= most && j-i < len(bad) {
			for k := i; k < j; k++ {
				bad[k] = false
			}
		}
		i = j
	}
}
