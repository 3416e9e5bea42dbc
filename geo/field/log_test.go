package field_test

import (
	"context"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hemrow/geo"
	"hemrow/geo/field"
	"hemrow/geo/format"
	"hemrow/geo/polygon"
)

// driven is the course round a block of 200 m by 100 m from its lower left
// corner, a vertex every step metres; it ends a step before the start.
func driven(step float64) (out []pt) {
	corners := []pt{{0, 0}, {200, 0}, {200, 100}, {0, 100}, {0, 0}}
	for i := 1; i < len(corners); i++ {
		a, b := corners[i-1], corners[i]
		n := int(math.Round(math.Hypot(b[0]-a[0], b[1]-a[1]) / step))
		for k := range n {
			t := float64(k) / float64(n)
			out = append(out, pt{a[0] + t*(b[0]-a[0]), a[1] + t*(b[1]-a[1])})
		}
	}
	return out
}

// stood is jitter of a receiver round a place.
func stood(at pt, n int) (out []pt) {
	rnd := rand.New(rand.NewPCG(47, uint64(n)))
	for range n {
		out = append(out, pt{at[0] + 0.2*(rnd.Float64()-0.5), at[1] + 0.2*(rnd.Float64()-0.5)})
	}
	return out
}

func TestLogTraps(t *testing.T) {
	s := kestrel
	log := func(more ...pt) format.File { return fileOf(area("Long Piece", s.ring(append(driven(2), more...)...))) }
	unclosed := func(more ...pt) format.File {
		return fileOf(area("Long Piece", format.Ring(s.line(append(driven(2), more...)...))))
	}
	put := func(i int, more ...pt) format.File {
		r := driven(2)
		return fileOf(area("Long Piece", s.ring(append(append(append([]pt{}, r[:i]...), more...), r[i:]...)...)))
	}
	line := format.Feature{Name: "Track", Lines: [][]format.Coord{s.line(append(driven(2), pt{0.3, 0.3}, pt{2.2, 0.3}, pt{4.2, 0.3})...)}}
	ranOn, still := []geo.Code{geo.NoteRunOn}, []geo.Code{geo.NoteStandstill}
	check(t, []trap{
		{name: "47 not run on", file: log(), areaM2: 20000},
		{name: "47 run on inside the beginning", file: log(pt{0.3, 0.3}, pt{2.2, 0.3}, pt{4.2, 0.3}), notes: ranOn, value: 4.2},
		{name: "47 run on outside the beginning", file: log(pt{0.1, -0.3}, pt{2.2, -0.4}, pt{4.2, -0.3}), notes: ranOn},
		{name: "47 run on over the beginning", file: log(pt{0, 0}, pt{1.9, 0}, pt{3.8, 0}), notes: ranOn, areaM2: 20000},
		{name: "47 run on straight across", file: log(pt{1, 1}, pt{3, -1}, pt{4, -2}), notes: ranOn, value: math.Sqrt2 + math.Sqrt2},
		{name: "47 run on across, then along", file: log(pt{0.2, 0.2}, pt{0.4, -0.2}, pt{2, -0.4}), notes: ranOn},
		{name: "47 run on, ring not closed", file: unclosed(pt{0.3, 0.3}, pt{2.2, 0.3}, pt{4.2, 0.3}), notes: ranOn, value: 4.2},
		{name: "47 run on through the very start", file: log(pt{0, 0}, pt{1, -1}, pt{1, -3}), notes: ranOn, value: math.Sqrt2 + 2, areaM2: 20000},
		{name: "47 line that runs on", file: fileOf(line), spec: field.Spec{CloseLines: true}, notes: []geo.Code{geo.NoteRunOn, geo.NoteLineClosed}, value: 4.2},
		{
			name: "47 run on, strict", file: log(pt{0.3, 0.3}, pt{2.2, 0.3}, pt{4.2, 0.3}), spec: field.Spec{Strict: true},
			problem: "repairs are refused: the end, which runs 4.20 m past the start", hint: "leave strict off",
		},
		{name: "47 standstill on a side", file: put(30, stood(pt{59, 0}, 40)...), notes: still},
		{name: "47 standstill at a corner", file: put(101, stood(pt{200, 0}, 7)...), notes: still},
		{name: "47 standstill over start and end", file: fileOf(area("Long Piece", s.ring(append(append(stood(pt{0, 0}, 9), driven(2)[1:]...), stood(pt{0, 0}, 12)...)...))), notes: still, value: 21},
		{name: "47 standstill, strict", file: put(30, stood(pt{59, 0}, 40)...), spec: field.Spec{Strict: true}, problem: "vertices of a standstill made one", hint: "leave strict off"},
	})
}

// What was trimmed is told with its size, and hardly any ground is lost.
func TestTrap47ChangesLittleGround(t *testing.T) {
	pts := append(append(stood(pt{0, 0}, 30), driven(1)[1:]...), pt{0.1, 0.4}, pt{1, 0.3}, pt{2, 0.4}, pt{3, 0.2}, pt{3.9, 0.3})
	f, notes, err := field.Build(context.Background(), fileOf(area("Long Piece", kestrel.ring(pts...))), nil, field.Spec{})
	require.NoError(t, err)
	assert.InDelta(t, 20000, polygon.AreaM2(f.Blocks[0].Outline), 1)
	n, ok := find(notes, geo.NoteRunOn)
	require.True(t, ok, "%v", notes)
	assert.Regexp(t, `^the end, which runs \d\.\d\d m past the start of the ring, trimmed; area changed by \d\.\d\d m2$`, n.Text)
	n, ok = find(notes, geo.NoteStandstill)
	require.True(t, ok)
	assert.Regexp(t, `^\d+ vertices of a standstill made one; area changed by \d\.\d\d m2$`, n.Text)
}

// A corner drawn with many vertices, a jog, and a small round hole are no logs.
func TestTrap47LeavesDrawnOutlinesAlone(t *testing.T) {
	round := []pt{{0, 0}, {200, 0}}
	for i := range 20 { // a half circle of 0.1 m radius at the end of a strip
		a := math.Pi * (float64(i)/20 - 0.5)
		round = append(round, pt{200 + 0.1*math.Cos(a), 50 + 0.1 + 0.1*math.Sin(a)})
	}
	round = append(round, pt{180, 60}, pt{180, 100}, pt{0, 100})
	jog := []pt{{0, 0}, {200, 0}, {200, 100}, {-30, 100}, {-30, 0.3}, {2, 0.3}}
	var pole []pt
	for i := range 36 {
		s, c := math.Sincos(-2 * math.Pi * float64(i) / 36)
		pole = append(pole, pt{50 + 0.14*c, 50 + 0.14*s})
	}
	for name, f := range map[string]format.File{
		"round corner": fileOf(area("Long Piece", kestrel.ring(round...))),
		"jog":          fileOf(area("Long Piece", kestrel.ring(jog...))),
		"pole":         fileOf(area("Long Piece", kestrel.rect(0, 0, 200, 100), kestrel.ring(pole...))),
	} {
		t.Run(name, func(t *testing.T) {
			got, notes, err := field.Build(context.Background(), f, nil, field.Spec{})
			require.NoError(t, err)
			assert.False(t, has(notes, geo.NoteRunOn) || has(notes, geo.NoteStandstill), "%v", notes)
			for k, r := range f.Features[0].Polygons[0] {
				assert.Len(t, got.Blocks[0].Outline[k], len(r))
			}
		})
	}
}

// A drive log of a vertex every centimetre, with 2 mm of noise aside.
func TestTrap46DriveLogThinned(t *testing.T) {
	rnd := rand.New(rand.NewPCG(46, 1))
	pts := driven(0.01)
	require.Len(t, pts, 60000)
	for i := range pts {
		pts[i][0] += 0.002 * (rnd.Float64() - 0.5)
		pts[i][1] += 0.002 * (rnd.Float64() - 0.5)
	}
	file := fileOf(area("Long Piece", kestrel.ring(pts...)))
	f, notes, err := field.Build(context.Background(), file, nil, field.Spec{})
	require.NoError(t, err)
	n, ok := find(notes, geo.NoteThinned)
	require.True(t, ok, "%v", notes)
	kept := len(f.Blocks[0].Outline[0]) - 1
	assert.Less(t, kept, 1000)
	assert.InDelta(t, len(pts)-kept, n.Value, 0.5)
	assert.InDelta(t, 20000, polygon.AreaM2(f.Blocks[0].Outline), 20000*geo.ThinAreaRatio)

	_, _, err = field.Build(context.Background(), file, nil, field.Spec{Strict: true})
	assert.ErrorContains(t, err, "repairs are refused")
}
