package terrain

import (
	"math"

	"github.com/paulmach/orb"

	"hemrow/geo"
)

// Contour is a piece of a level line with the higher ground on its left. A
// closed one ends where it began, vertex for vertex; around a summit it runs
// counter-clockwise.
type Contour struct {
	LevelM float64
	Line   orb.LineString
	Closed bool
}

// Levels is the multiples of an interval, shifted by baseM, that lie within the
// heights of a lattice, rising. No interval above 0 gives none.
func (l *Lattice) Levels(intervalM, baseM float64) (levelsM []float64) {
	low, high, ok := l.RangeM()
	if !ok || !(intervalM > 0) || math.IsInf(high-low, 0) {
		return nil
	}
	first := math.Ceil((low - baseM) / intervalM)
	count := int(math.Floor((high-baseM)/intervalM)-first) + 1
	for k := range max(0, count) {
		levelsM = append(levelsM, baseM+intervalM*(first+float64(k)))
	}
	return levelsM
}

// Contours traces the level lines of a lattice by marching squares: in each
// square of four nodes the line is straight from edge to edge, and along an
// edge heights are linear. Squares with an unknown corner hold no line. A node
// exactly at the level counts as above it. In a square whose opposite corners
// are on the same side of the level, the line keeps those corners together
// whose side the mean of the four is on.
//
// Lines are linked by the edges they cross, not by nearness, so that none has a
// gap or meets another. They come level by level in the order given, and within
// a level by their first square, south to north and west to east. A line that
// would shrink to a point or to a stretch run twice is left out: it belongs to
// nodes exactly at the level.
//
// Source: W. E. Lorensen and H. E. Cline, "Marching cubes", Computer Graphics
// 21 (1987) 163-169, in the plane; the mean for saddles is common practice.
func (l *Lattice) Contours(levelsM []float64) []Contour {
	if l.Cols < 2 || l.Rows < 2 {
		return nil
	}
	t := tracer{Lattice: l, seen: make([]uint8, l.Cols*l.Rows)}
	for _, level := range levelsM {
		clear(t.seen)
		t.level = level
		t.scan()
	}
	return t.found
}

// The edges of a square, counter-clockwise from the south.
const (
	south = iota
	east
	north
	west
)

// Along an edge run counter-clockwise, from high to low a line with the high
// ground on its left comes into the square, from low to high it leaves. pairs
// is the way in and the way out for each set of high corners (1 south-west, 2
// south-east, 4 north-east, 8 north-west); a saddle has two, of which the
// second is crossed in the other rows of the table.
var pairs = [16][2][2]int8{
	1:  {{south, west}},
	2:  {{east, south}},
	3:  {{east, west}},
	4:  {{north, east}},
	6:  {{north, south}},
	7:  {{north, west}},
	8:  {{west, north}},
	9:  {{south, north}},
	11: {{east, north}},
	12: {{west, east}},
	13: {{south, east}},
	14: {{west, south}},
	// High corners apart, since the mean is low.
	5:  {{south, west}, {north, east}},
	10: {{east, south}, {west, north}},
}

// merged is the same for saddles whose mean is high.
var merged = [16][2][2]int8{
	5:  {{south, east}, {north, west}},
	10: {{east, north}, {west, south}},
}

// tracer follows the lines of one level at a time.
type tracer struct {
	*Lattice
	level  float64
	seen   []uint8 // per square, a bit for the first and the second line in it
	ahead  orb.LineString
	behind orb.LineString
	found  []Contour
}

// scan looks for squares with a line not yet seen. Comparing bits of two rows
// of nodes is all that most squares cost.
func (t *tracer) scan() {
	level := t.level
	for j := range t.Rows - 1 {
		lower := t.Z[j*t.Cols : (j+1)*t.Cols]
		upper := t.Z[(j+1)*t.Cols : (j+2)*t.Cols][:len(lower)]
		was, wasUp := lower[0] >= level, upper[0] >= level
		for i := 1; i < len(lower); i++ {
			is, isUp := lower[i] >= level, upper[i] >= level
			if was != is || was != wasUp || was != isUp {
				t.begin(i-1, j)
			}
			was, wasUp = is, isUp
		}
	}
}

// begin traces the lines of a square that are new.
func (t *tracer) begin(i, j int) {
	code, ok := t.code(i, j)
	if !ok {
		return
	}
	p := t.lines(i, j, code)
	for k := range p {
		if p[k][0] != p[k][1] && t.seen[j*t.Cols+i]&(1<<k) == 0 {
			t.trace(i, j, k)
		}
	}
}

// code is the set of high corners; ok is false if one is unknown.
func (t *tracer) code(i, j int) (code int, ok bool) {
	if uint(i) >= uint(t.Cols-1) || uint(j) >= uint(t.Rows-1) {
		return 0, false
	}
	k := j*t.Cols + i
	a, b := t.Z[k:k+2:k+2], t.Z[k+t.Cols:k+t.Cols+2:k+t.Cols+2]
	if s := a[0] + a[1] + b[0] + b[1]; s-s != 0 {
		return 0, false
	}
	if a[0] >= t.level {
		code |= 1
	}
	if a[1] >= t.level {
		code |= 2
	}
	if b[1] >= t.level {
		code |= 4
	}
	if b[0] >= t.level {
		code |= 8
	}
	return code, true
}

// lines is the ways through a square.
func (t *tracer) lines(i, j, code int) *[2][2]int8 {
	if code == 5 || code == 10 {
		k := j*t.Cols + i
		if (t.Z[k]+t.Z[k+1]+t.Z[k+t.Cols]+t.Z[k+t.Cols+1])/4 >= t.level {
			return &merged[code]
		}
	}
	return &pairs[code]
}

// trace follows the line k of a square to its end, and back to its beginning
// unless it closes.
func (t *tracer) trace(i, j, k int) {
	t.ahead, t.behind = t.ahead[:0], t.behind[:0]
	code, _ := t.code(i, j)
	way := t.lines(i, j, code)[k]
	t.ahead = t.push(t.ahead, t.crossing(i, j, way[0]))
	closed := t.follow(i, j, k, 1)
	if !closed {
		ni, nj := step(i, j, way[0])
		if before := t.lineAt(ni, nj, way[0]^2, 1); before >= 0 {
			t.follow(ni, nj, before, 0)
		}
	}
	t.keep(closed)
}

// follow walks from line k of a square, out by its end (dir 1) or its beginning
// (dir 0), and reports whether it came back to where it set out.
func (t *tracer) follow(i, j, k, dir int) (closed bool) {
	i0, j0, k0 := i, j, k
	for {
		t.seen[j*t.Cols+i] |= 1 << k
		code, _ := t.code(i, j)
		edge := t.lines(i, j, code)[k][dir]
		p := t.crossing(i, j, edge)
		if dir == 1 {
			t.ahead = t.push(t.ahead, p)
		} else {
			t.behind = t.push(t.behind, p)
		}
		i, j = step(i, j, edge)
		if k = t.lineAt(i, j, edge^2, 1-dir); k < 0 {
			return false
		}
		if i == i0 && j == j0 && k == k0 {
			return true
		}
	}
}

// lineAt is which line of a square begins (end 0) or ends (end 1) at an edge;
// -1 if there is no such square.
func (t *tracer) lineAt(i, j int, edge int8, end int) int {
	code, ok := t.code(i, j)
	if !ok {
		return -1
	}
	p := t.lines(i, j, code)
	if p[0][end] == edge {
		return 0
	}
	return 1
}

// step is the square beyond an edge.
func step(i, j int, edge int8) (ni, nj int) {
	switch edge {
	case south:
		return i, j - 1
	case east:
		return i + 1, j
	case north:
		return i, j + 1
	}
	return i - 1, j
}

// crossing is where the level crosses an edge of a square. Both squares of an
// edge compute it from the same nodes in the same order.
func (t *tracer) crossing(i, j int, edge int8) orb.Point {
	switch edge {
	case north:
		j++
	case east:
		i++
	}
	k := j*t.Cols + i
	next := k + 1
	if edge&1 == 1 {
		next = k + t.Cols
	}
	share := (t.level - t.Z[k]) / (t.Z[next] - t.Z[k])
	x, y := float64(i), float64(j)
	if edge&1 == 1 {
		y += share
	} else {
		x += share
	}
	return orb.Point{t.Origin[0] + t.StepM*x, t.Origin[1] + t.StepM*y}
}

// push leaves out points that repeat the one before.
func (t *tracer) push(line orb.LineString, p orb.Point) orb.LineString {
	if n := len(line); n > 0 && distM(line[n-1], p) < geo.CoincidentM {
		return line
	}
	return append(line, p)
}

// keep copies the line found.
func (t *tracer) keep(closed bool) {
	least := 2
	if closed {
		least = 4
		if n := len(t.ahead); n > 1 {
			t.ahead[n-1] = t.ahead[0] // the last may have been left out as a repeat
		}
	}
	n := len(t.behind) + len(t.ahead)
	if n < least {
		return
	}
	line := make(orb.LineString, 0, n)
	for i := len(t.behind) - 1; i >= 0; i-- {
		line = append(line, t.behind[i])
	}
	for i, p := range t.ahead {
		if i == 0 && len(line) > 0 && distM(line[len(line)-1], p) < geo.CoincidentM {
			continue
		}
		line = append(line, p)
	}
	if len(line) >= least {
		t.found = append(t.found, Contour{t.level, line, closed})
	}
}
