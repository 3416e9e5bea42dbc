package shapefile

import (
	"encoding/binary"
	"fmt"
	"math"

	"hemrow/geo"
	"hemrow/geo/format"
)

// fault is what is wrong with a shape. Ring, part and vertex count from 1.
type fault struct {
	part, vertex int
	problem      string
	hint         string
}

// shape reads the content of one record.
type shape struct {
	b     []byte
	kind  int32
	f     *format.Feature
	tally *tally
}

// read fills in the shapes of the feature; none for a null shape.
func (s *shape) read(file int32) *fault {
	if len(s.b) < 4 {
		return &fault{problem: fmt.Sprintf("the record has %d bytes, too few for a shape type", len(s.b))}
	}
	s.kind = int32(binary.LittleEndian.Uint32(s.b))
	f := family(s.kind)
	switch {
	case f == typeNull:
		return nil
	case f == typePatch:
		return &fault{problem: "a MultiPatch (a solid body) is not read", hint: "export the outline as Polygon"}
	case f < 0:
		return &fault{problem: fmt.Sprintf("shape type %d, which there is not", s.kind), hint: "the record is damaged; export the file again"}
	case f != family(file) && file != typeNull:
		return &fault{
			problem: fmt.Sprintf("a %s in a file of %s", kindWord(s.kind), kindWord(file)),
			hint:    "the record is damaged; export the file again",
		}
	}
	switch f {
	case typePoint:
		return s.point()
	case typeMultiPoint:
		return s.points()
	}
	return s.paths(f == typePolygon)
}

// short says how many bytes a record lacks.
func (s *shape) short(need int64) *fault {
	return &fault{
		problem: fmt.Sprintf("the record has %d bytes where its %s needs %d", len(s.b), kindWord(s.kind), need),
		hint:    "the record is damaged; export the file again",
	}
}

func number(b []byte) float64 { //unit:the file's
	return math.Float64frombits(binary.LittleEndian.Uint64(b))
}

// point reads type, X, Y and then height and measure, or measure alone.
func (s *shape) point() *fault {
	const flat = 4 + 16
	need := flat
	if s.kind == typePointZ {
		need += 8
	}
	if len(s.b) < need {
		return s.short(int64(need))
	}
	one := make([]format.Coord, 1)
	if at := s.positions(one, s.b[4:]); at > 0 {
		return notFinite(one, at, 0, 0)
	}
	rest := s.b[flat:]
	if s.kind == typePointZ {
		s.heights(one, rest)
		rest = rest[8:]
	}
	if s.kind != typePoint && len(rest) >= 8 {
		s.measures(rest[:8])
	}
	s.f.Points = one
	return nil
}

// points reads type, box, their number, positions, heights, measures.
func (s *shape) points() *fault {
	const head = 4 + 32 + 4
	if len(s.b) < head {
		return s.short(head)
	}
	n := int64(int32(binary.LittleEndian.Uint32(s.b[36:])))
	all, f := s.coords(head, n, "points")
	if f != nil || len(all) == 0 {
		return f
	}
	if at := s.positions(all, s.b[head:]); at > 0 {
		return notFinite(all, at, 0, 0)
	}
	s.f.Points = all
	return nil
}

// coords makes room for n positions that begin at byte head, after making sure
// that they are there, and reads the heights and measures behind them.
func (s *shape) coords(head, n int64, what string) ([]format.Coord, *fault) {
	if n < 0 {
		return nil, &fault{problem: fmt.Sprintf("%d %s", n, what), hint: "the record is damaged; export the file again"}
	}
	end := head + 16*n
	need := end
	if hasZ(s.kind) {
		need += 16 + 8*n
	}
	if need > int64(len(s.b)) {
		return nil, s.short(need)
	}
	if n == 0 {
		return nil, nil
	}
	all := make([]format.Coord, n)
	if hasZ(s.kind) {
		s.heights(all, s.b[end+16:])
	}
	// measures are there if there is room for them
	if family(s.kind) != s.kind && int64(len(s.b)) >= need+16+8*n {
		s.measures(s.b[need+16 : need+16+8*n])
	}
	return all, nil
}

// positions reads X and Y of all from b. It returns the place, from 1, of the
// first that is not finite, 0 if all are.
func (s *shape) positions(all []format.Coord, b []byte) int {
	_ = b[16*len(all)-1]
	flat := !hasZ(s.kind)
	bad := 0.0 // becomes NaN with the first number that is not finite
	for i := range all {
		p := b[16*i : 16*i+16]
		x := math.Float64frombits(binary.LittleEndian.Uint64(p))
		y := math.Float64frombits(binary.LittleEndian.Uint64(p[8:]))
		all[i].X, all[i].Y = x, y
		if flat {
			all[i].Z = math.NaN()
		}
		bad += (x - x) + (y - y)
	}
	if bad == 0 {
		return 0
	}
	for i, c := range all {
		if c.X-c.X != 0 || c.Y-c.Y != 0 {
			return i + 1
		}
	}
	return 0
}

// notFinite is the fault of vertex at of all, where ring begins.
func notFinite(all []format.Coord, at, ring, begins int) *fault {
	c := all[at-1]
	what, v := "X", c.X
	if c.X-c.X == 0 {
		what, v = "Y", c.Y
	}
	return &fault{
		part: ring, vertex: at - begins, problem: fmt.Sprintf("%s is %v, which is no place", what, v),
		hint: "correct the vertex where the file was made and export it again",
	}
}

// heights reads the heights of all from b.
func (s *shape) heights(all []format.Coord, b []byte) {
	_ = b[8*len(all)-1]
	zero, other := 0, 0
	for i := range all {
		z := number(b[8*i:])
		switch {
		case format.IsNoHeight(z):
			s.tally.count[noteHeight]++
			z = math.NaN()
		case z == 0:
			zero++
		default:
			other++
		}
		all[i].Z = z
	}
	if other == 0 && zero > 0 { // nobody surveys at 0 all over: the file was made without heights
		s.tally.count[noteZero] += zero
		flatten(all)
	}
}

func flatten(all []format.Coord) {
	for i := range all {
		all[i].Z = math.NaN()
	}
}

// measures counts the measures that say something.
func (s *shape) measures(b []byte) {
	for ; len(b) >= 8; b = b[8:] {
		if m := number(b); m > noDataBelow {
			s.tally.count[noteMeasure]++
		}
	}
}

// paths reads type, box, numbers of parts and vertices, where each part
// begins, positions, heights, measures.
func (s *shape) paths(rings bool) *fault {
	const head = 4 + 32 + 4 + 4
	if len(s.b) < head {
		return s.short(head)
	}
	parts := int64(int32(binary.LittleEndian.Uint32(s.b[36:])))
	n := int64(int32(binary.LittleEndian.Uint32(s.b[40:])))
	if parts < 0 || head+4*parts > int64(len(s.b)) {
		return &fault{
			problem: fmt.Sprintf("%d parts in a record of %d bytes", parts, len(s.b)),
			hint:    "the record is damaged; export the file again",
		}
	}
	all, f := s.coords(head+4*parts, n, "vertices")
	if f != nil {
		return f
	}
	starts := s.b[head : head+4*parts]
	if len(all) == 0 {
		return nil
	}
	if f := s.checkStarts(starts, n); f != nil {
		return f
	}
	if at := s.positions(all, s.b[head+4*parts:]); at > 0 {
		return inPart(all, at, starts)
	}
	if parts == 1 {
		s.single(all, rings)
		return nil
	}
	s.several(all, starts, rings)
	return nil
}

// checkStarts makes sure that the parts follow one another.
func (s *shape) checkStarts(starts []byte, n int64) *fault {
	last := int64(0)
	for k := 0; k < len(starts); k += 4 {
		at := int64(int32(binary.LittleEndian.Uint32(starts[k:])))
		if at < last || at > n || k == 0 && at != 0 {
			return &fault{
				part:    k/4 + 1,
				problem: fmt.Sprintf("the part begins at vertex %d of %d, the one before at %d", at+1, n, last+1),
				hint:    "the record is damaged; export the file again",
			}
		}
		last = at
	}
	if len(starts) == 0 {
		return &fault{problem: fmt.Sprintf("%d vertices and no part", n), hint: "the record is damaged; export the file again"}
	}
	return nil
}

func start(starts []byte, k int) int { return int(binary.LittleEndian.Uint32(starts[4*k:])) }

// inPart is the fault of a vertex with the number of its part.
func inPart(all []format.Coord, at int, starts []byte) *fault {
	k := len(starts)/4 - 1
	for k > 0 && start(starts, k) > at-1 {
		k--
	}
	ring := 0
	if len(starts) > 4 {
		ring = k + 1
	}
	return notFinite(all, at, ring, start(starts, k))
}

// single is the common case, in one allocation.
func (s *shape) single(all []format.Coord, rings bool) {
	if rings {
		room := &struct {
			polygon [1]format.Polygon
			ring    [1]format.Ring
		}{}
		room.ring[0] = all
		room.polygon[0] = room.ring[:]
		s.f.Polygons = room.polygon[:]
		return
	}
	s.f.Lines = [][]format.Coord{all}
}

func (s *shape) several(all []format.Coord, starts []byte, rings bool) {
	cut := make([]format.Ring, 0, len(starts)/4)
	for k := range len(starts) / 4 {
		from, to := start(starts, k), len(all)
		if 4*(k+1) < len(starts) {
			to = start(starts, k+1)
		}
		if from == to {
			s.tally.count[noteEmpty]++
			continue
		}
		cut = append(cut, all[from:to:to])
	}
	if rings {
		s.f.Polygons = s.assemble(cut)
		return
	}
	s.f.Lines = make([][]format.Coord, len(cut))
	for k, r := range cut {
		s.f.Lines[k] = r
	}
}

// decode reads a raw record.
func (s *Stream) decode(raw Raw) (f format.Feature, t tally, err error) {
	f = format.Feature{Number: raw.Number}
	if raw.Err != nil {
		return f, t, raw.Err
	}
	if s.rows != nil && len(raw.Row) == s.rows.row {
		f.Properties, f.Name, t.count[noteText] = s.rows.readRow(raw.Row)
	}
	sh := shape{b: raw.Shape, f: &f, tally: &t}
	if bad := sh.read(s.head.kind); bad != nil {
		return format.Feature{Number: f.Number, Name: f.Name, Properties: f.Properties}, t, &geo.InputError{
			File: s.label, Feature: f.Number, Name: f.Name, Part: bad.part, Vertex: bad.vertex,
			Problem: bad.problem, Hint: bad.hint,
		}
	}
	if f.Polygons == nil && f.Lines == nil && f.Points == nil {
		t.count[noteEmpty], t.count[noteLeft] = 0, 1
	}
	return f, t, nil
}

// Decode reads one raw record. A null shape comes back without shapes and with
// a note. The result holds no part of the bytes of raw.
func (s *Stream) Decode(raw Raw) (format.Feature, geo.Notes, error) {
	f, t, err := s.decode(raw)
	if err != nil {
		return f, nil, err
	}
	return f, t.notes(s.label, f), nil
}
