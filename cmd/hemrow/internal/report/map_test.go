package report

import (
	"bytes"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"math"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"hemrow/cmd/hemrow/internal/result"
)

// svgElements reads a drawing and refuses whatever a map has no use for.
func svgElements(t testing.TB, data []byte) map[string]int {
	t.Helper()
	allowed := map[string]bool{
		"svg": true, "title": true, "defs": true, "pattern": true, "clipPath": true, "rect": true,
		"path": true, "circle": true, "g": true, "text": true,
	}
	count := map[string]int{}
	dec := xml.NewDecoder(bytes.NewReader(data))
	for {
		tok, err := dec.Token()
		if errors.Is(err, io.EOF) {
			break
		}
		require.NoError(t, err)
		el, ok := tok.(xml.StartElement)
		if !ok {
			continue
		}
		require.True(t, allowed[el.Name.Local], el.Name.Local)
		count[el.Name.Local]++
		for _, a := range el.Attr {
			require.False(t, strings.HasPrefix(a.Name.Local, "on"), a.Name.Local)
			require.NotContains(t, []string{"href", "style", "class"}, a.Name.Local)
			if strings.Contains(a.Value, "url(") {
				require.Regexp(t, `^url\(#[a-z]+\)$`, a.Value)
			}
			require.NotContains(t, a.Value, "NaN")
			require.NotContains(t, a.Value, "Inf")
		}
	}
	return count
}

// written is all lettering of a map, in its order.
func written(data []byte) string {
	var words []string
	for _, m := range regexp.MustCompile(`<text [^>]*>([^<]*)<`).FindAllSubmatch(data, -1) {
		words = append(words, string(m[1]))
	}
	return strings.Join(words, " ")
}

func TestMapsAreWellFormed(t *testing.T) {
	for _, s := range scenes(t) {
		d := s.document(t)
		got := MapSVG(d)
		n := svgElements(t, got)
		assert.Equal(t, 1, n["svg"])
		assert.GreaterOrEqual(t, n["path"], len(d.Rows))
		assert.Contains(t, written(got), "not a survey plan; check lengths on the ground")
		assert.Equal(t, string(got), string(MapSVG(d)), "same document, same bytes")
	}
	for _, text := range []string{hostile, "]]>", "<!-- -->", "&#0;", "مزرعة \u202eabc", "\x00\x08\uffff", strings.Repeat("W", 400), ""} {
		got := MapSVG(spoiled(t, text))
		svgElements(t, got)
		assert.NotContains(t, string(got), "<script")
	}
}

// lightness is L* of CIE 1976 from an sRGB colour (IEC 61966-2-1, 1999, and
// CIE 15, 2004): black 0, white 100.
func lightness(t *testing.T, hex string) float64 {
	t.Helper()
	var y float64
	for i, weight := range []float64{0.2126, 0.7152, 0.0722} {
		v, err := strconv.ParseUint(hex[1+2*i:3+2*i], 16, 8)
		require.NoError(t, err)
		c := float64(v) / 255
		if c <= 0.04045 {
			c /= 12.92
		} else {
			c = math.Pow((c+0.055)/1.055, 2.4)
		}
		y += weight * c
	}
	if y <= 216.0/24389 {
		return y * 24389 / 27
	}
	return 116*math.Cbrt(y) - 16
}

func TestColoursReadInGrey(t *testing.T) {
	// from the standard: the mid grey 119, 119, 119 has L* 50 to a third
	assert.InDelta(t, 50, lightness(t, "#777777"), 0.34)
	assert.InDelta(t, 100, lightness(t, "#ffffff"), 1e-3)
	palette := []string{inkColour, rowColour, obstacleColour, alleyColour, rockColour, headColour, paperColour}
	for i := 1; i < len(palette); i++ {
		// common practice, no source: 7 of 100 steps of lightness part two greys on a copy
		assert.Greater(t, lightness(t, palette[i])-lightness(t, palette[i-1]), 7.0, "%s and %s", palette[i-1], palette[i])
	}
	dashes := map[string]bool{outlineDash: true, rowDash: true, obstacleDash: true, alleyDash: true}
	assert.Len(t, dashes, 4, "every kind of line has a dash of its own")
	used := map[string]bool{}
	for _, s := range scenes(t) {
		for _, c := range regexp.MustCompile(`#[0-9a-f]{6}`).FindAllString(string(MapSVG(s.document(t))), -1) {
			used[c] = true
			assert.Contains(t, palette, c)
		}
	}
	assert.Len(t, used, len(palette))
}

// Rows are drawn to the scale that the sheet states.
func TestMapIsToScale(t *testing.T) {
	d := smallDocument(t, "metric")
	got := string(MapSVG(d))
	m := regexp.MustCompile(`>1 : (\d+)<`).FindStringSubmatch(got)
	require.NotNil(t, m)
	scale := asFloat(t, m[1])
	var xs []float64
	for _, m := range regexp.MustCompile(`<path d="M([\d.]+) ([\d.]+)L([\d.]+) ([\d.]+)`).FindAllStringSubmatch(got, -1) {
		xs = append(xs, asFloat(t, m[1]))
		if len(xs) == 1 {
			// the first row is 80 m long, from south to north
			assert.InDelta(t, 80, (asFloat(t, m[2])-asFloat(t, m[4]))*scale/1000, 0.02*scale/1000)
			assert.Equal(t, m[1], m[3])
		}
	}
	require.Len(t, xs, 3)
	assert.InDelta(t, 20, (xs[1]-xs[0])*scale/1000, 0.02*scale/1000)
	assert.InDelta(t, 40, (xs[2]-xs[0])*scale/1000, 0.02*scale/1000)
	// the bar says 0, 10, 20 m
	bar := regexp.MustCompile(`width="([\d.]+)" height="1.6"`).FindAllStringSubmatch(got, -1)
	require.Len(t, bar, 2)
	assert.InDelta(t, 5, asFloat(t, bar[0][1])*scale/1000, 0.01*scale/1000)
	assert.Contains(t, got, ">10 m<")
}

func TestUsualScale(t *testing.T) {
	for _, c := range []struct {
		need float64
		want int
	}{{0, 20}, {20, 20}, {21, 25}, {99, 100}, {101, 200}, {501, 1000}, {1001, 1250}, {1251, 1500}, {2501, 5000}, {10001, 20000}, {20001, 25000}, {99999, 100000}, {math.Inf(1), math.MaxInt32}} {
		assert.Equal(t, c.want, usualScale(c.need), "%g", c.need)
	}
	for _, c := range []struct{ most, want float64 }{{1, 1}, {1.9, 1}, {2, 2}, {49, 20}, {50, 50}, {99, 50}, {0.3, 0.2}} {
		assert.InEpsilon(t, c.want, roundLength(c.most), 1e-12)
	}
}

// Whatever the size and shape, the field lies inside the map.
func TestSheetHoldsTheField(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		w := math.Pow(10, rapid.Float64Range(0, 4.5).Draw(rt, "w"))
		h := math.Pow(10, rapid.Float64Range(0, 4.5).Draw(rt, "h"))
		x, y := rapid.Float64Range(-1e4, 1e4).Draw(rt, "x"), rapid.Float64Range(-1e4, 1e4).Draw(rt, "y")
		d := result.Document{Blocks: []result.Block{{SpacingM: 3, Outline: result.Shape{Local: [][]result.XY{{{x, y}, {x + w, y}, {x + w, y + h}, {x, y}}}}}}}
		s := newSheet(d)
		for _, p := range d.Blocks[0].Outline.Local[0] {
			q := s.at(p)
			require.GreaterOrEqual(rt, q.x, marginMM+insetMM-0.001)
			require.LessOrEqual(rt, q.x, s.mapEnd().x-insetMM+0.001)
			require.GreaterOrEqual(rt, q.y, marginMM+insetMM-0.001)
			require.LessOrEqual(rt, q.y, s.mapEnd().y-insetMM+0.001)
		}
		require.Contains(rt, []string{"A3", "A4", "Letter", "Tabloid"}, s.paper)
	})
}

// Fields of 5 m rows. Room of A4, by hand: portrait 168 by 212 mm, across 255 by
// 125 mm with the block at the foot and 195 by 168 mm with it on the right.
func TestSheetUsesThePage(t *testing.T) {
	for _, c := range []struct {
		name   string
		w, h   float64
		scale  int
		across bool
		column bool
	}{
		{"wide", 500, 200, 2000, true, false},         // 500 / 255 < 2
		{"a third wider", 279, 207, 1500, true, true}, // 279 / 195 < 1.5, 207 / 168 < 1.5
		{"square", 190, 190, 1250, false, false},      // 190 / 168 < 1.25
		{"tall", 150, 310, 1500, false, false},        // 310 / 212 < 1.5
	} {
		d := result.Document{Blocks: []result.Block{{SpacingM: 5, Outline: result.Shape{Local: [][]result.XY{{{0, 0}, {c.w, 0}, {c.w, c.h}, {0, 0}}}}}}}
		s := newSheet(d)
		assert.Equal(t, "A4", s.paper, c.name)
		assert.Equal(t, c.scale, s.scale, c.name)
		assert.Equal(t, c.across, s.w > s.h, c.name)
		assert.Equal(t, c.column, s.column, c.name)
	}
}

func TestSheetFollowsTheField(t *testing.T) {
	for _, s := range scenes(t) {
		got := newSheet(s.document(t))
		switch s.name {
		case "garden":
			assert.Less(t, got.w, got.h, s.name)
		case "strip", "three", "diagonal":
			assert.Greater(t, got.w, got.h, s.name)
		}
		if s.name == "large" {
			assert.Equal(t, "A3", got.paper)
		}
	}
}

// checkLabels: no lettering overlaps other lettering, everything lies on the
// map, and the first and last row of each block are numbered at both ends.
func checkLabels(t require.TestingT, d result.Document) labels {
	m := drawing{doc: d, sheet: newSheet(d)}
	l := m.place()
	for i, a := range l.boxes {
		require.True(t, l.onPage(a))
		for _, b := range l.boxes[:i] {
			require.False(t, a.overlaps(b), "boxes at %v and %v", a.c, b.c)
		}
	}
	seen := map[string]int{}
	for _, x := range l.out {
		seen[x.text]++
	}
	for _, b := range d.Blocks {
		if b.Tally.Rows > 0 {
			require.Equal(t, 2, seen[strconv.Itoa(b.FirstRowNo)], "first row of %s", b.Name)
			require.Equal(t, 2, seen[strconv.Itoa(b.LastRowNo)], "last row of %s", b.Name)
		}
	}
	return l
}

func TestLetteringDoesNotOverlap(t *testing.T) {
	for _, s := range scenes(t) {
		t.Run(s.name, func(t *testing.T) {
			l := checkLabels(t, s.document(t))
			if s.name != "bare" {
				require.GreaterOrEqual(t, len(l.ends), 2)
			}
		})
	}
}

func TestLetteringOfManyLayouts(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		s := scene{outline: true, spec: specOf(rapid.Float64Range(2, 12).Draw(rt, "spacing"), rapid.Float64Range(0, 179).Draw(rt, "heading"))}
		s.field = scenes(t)[rapid.SampledFrom([]int{0, 4, 5}).Draw(rt, "field")].field
		checkLabels(rt, s.document(t))
	})
}

func TestRowNumbersThinOut(t *testing.T) {
	assert.Equal(t, 1, everyth(2.3))
	assert.Equal(t, 2, everyth(2.2))
	assert.Equal(t, 5, everyth(0.5))
	assert.Equal(t, 10, everyth(0.25))
	assert.Equal(t, 50, everyth(0.05))
	assert.Positive(t, everyth(0))
}

func TestBoxes(t *testing.T) {
	flat := boxMM{c: point{0, 0}, u: point{1, 0}, hu: 2, hv: 1}
	diag := math.Sqrt(0.5)
	for _, c := range []struct {
		name string
		b    boxMM
		want bool
	}{
		{"same", flat, true},
		{"beside", boxMM{c: point{4.01, 0}, u: point{1, 0}, hu: 2, hv: 1}, false},
		{"touching", boxMM{c: point{4, 0}, u: point{1, 0}, hu: 2, hv: 1}, false},
		{"corner inside", boxMM{c: point{3.5, 1.5}, u: point{1, 0}, hu: 2, hv: 1}, true},
		{"turned, past the corner", boxMM{c: point{3.2, 2.2}, u: point{diag, -diag}, hu: 2, hv: 1}, false},
		{"turned, over the corner", boxMM{c: point{2.4, 1.4}, u: point{diag, -diag}, hu: 2, hv: 1}, true},
	} {
		assert.Equal(t, c.want, flat.overlaps(c.b), c.name)
		assert.Equal(t, c.want, c.b.overlaps(flat), c.name)
	}
	for _, c := range []struct {
		name string
		a, b point
		want bool
	}{
		{"through", point{-5, 0}, point{5, 0.5}, true},
		{"inside", point{-1, 0}, point{1, 0}, true},
		{"short of it", point{-5, 0}, point{-2.1, 0}, false},
		{"above", point{-5, 1.1}, point{5, 1.1}, false},
		{"past a corner", point{1, 2.1}, point{3.2, 0}, false},
		{"one place", point{0, 0}, point{0, 0}, true},
	} {
		assert.Equal(t, c.want, flat.crosses(c.a, c.b), c.name)
	}
}

// A crowd finds by cells what a look at everything finds.
func TestCrowdMissesNothing(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		c := newCrowd(point{200, 244})
		xy := func() point {
			return point{rapid.Float64Range(0, 210).Draw(rt, "x"), rapid.Float64Range(0, 297).Draw(rt, "y")}
		}
		var segs [][2]point
		for range rapid.IntRange(1, 12).Draw(rt, "n") {
			s := [2]point{xy(), xy()}
			segs = append(segs, s)
			c.addLine(s[0], s[1])
		}
		b := boxMM{c: xy(), u: toward(xy(), xy()), hu: rapid.Float64Range(0.5, 30).Draw(rt, "hu"), hv: 2}
		want := false
		for _, s := range segs {
			want = want || b.crosses(s[0], s[1])
		}
		require.Equal(rt, want, c.lined(b))
	})
}

func TestFitted(t *testing.T) {
	assert.Equal(t, "Kestrel Rise", fitted("Kestrel Rise", 3, 100))
	short := fitted(strings.Repeat("Kestrel ", 40), 3, 60)
	assert.LessOrEqual(t, widthMM(short, 3), 60.0)
	assert.True(t, strings.HasSuffix(short, "..."), short)
	assert.Empty(t, fitted("", 3, 60))
	assert.Equal(t, []string{"one two", "three"}, wrapMM("one two three", 3, 14))
	assert.Greater(t, widthMM("田", 1), widthMM("m", 1))
	assert.Equal(t, fmt.Sprint(point{0, -1}), fmt.Sprint(toward(point{1, 1}, point{1, 1})))
}

// Level lines are under the rows, every fifth heavier, with their heights
// written and the interval in the key; without terrain there are none.
func TestMapDrawsLevels(t *testing.T) {
	d := smallDocument(t, "metric")
	assert.NotContains(t, string(MapSVG(d)), levelColour)
	d.Terrain = &result.Terrain{Method: "triangles", LowestM: 203, HighestM: 216, IntervalM: 2}
	for k := range 6 {
		x := -35 + 12*float64(k)
		d.Terrain.Levels = append(d.Terrain.Levels, result.Level{HeightM: 204 + 2*float64(k), Local: []result.XY{{x, -54}, {x, 54}}})
	}
	got := string(MapSVG(d))
	assert.Equal(t, 4, strings.Count(got, levelColour), "light and heavy lines, on the map and in the key")
	assert.Contains(t, got, ">height, every 2 m<")
	assert.Contains(t, got, ">210 m<", "the fifth of two metres")
	assert.NotContains(t, got, ">208 m<")
	assert.Less(t, strings.Index(got, levelColour), strings.Index(got, rowColour), "under the rows")
}
