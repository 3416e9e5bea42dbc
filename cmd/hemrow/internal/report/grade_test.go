package report

import (
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

// linearRGB are the parts of a colour in linear light (IEC 61966-2-1, 1999).
func linearRGB(t *testing.T, hex string) (c [3]float64) {
	t.Helper()
	for i := range c {
		v, err := strconv.ParseUint(hex[1+2*i:3+2*i], 16, 8)
		require.NoError(t, err)
		if c[i] = float64(v) / 255; c[i] <= 0.04045 {
			c[i] /= 12.92
		} else {
			c[i] = math.Pow((c[i]+0.055)/1.055, 2.4)
		}
	}
	return c
}

// How eyes see that lack a colour: Machado, Oliveira and Fernandes, A
// Physiologically-based Model for Simulation of Color Vision Deficiency, 2009,
// severity 1.0, on linear light (from memory).
var eyes = map[string][3][3]float64{
	"all colours": {{1, 0, 0}, {0, 1, 0}, {0, 0, 1}},
	"no red":      {{0.152286, 1.052583, -0.204868}, {0.114503, 0.786281, 0.099216}, {-0.003882, -0.048116, 1.051998}},
	"no green":    {{0.367322, 0.860646, -0.227968}, {0.280085, 0.672501, 0.047413}, {-0.011820, 0.042940, 0.968881}},
	"no blue":     {{1.255528, -0.076749, -0.178779}, {-0.078411, 0.930809, 0.147602}, {0.004733, 0.691367, 0.303900}},
}

// luminance is how bright a colour looks to an eye, white 1.
func luminance(c [3]float64, eye [3][3]float64) (y float64) {
	for i, weight := range [3]float64{0.2126, 0.7152, 0.0722} {
		v := eye[i][0]*c[0] + eye[i][1]*c[1] + eye[i][2]*c[2]
		y += weight * max(0, min(1, v))
	}
	return y
}

// contrast is that of WCAG 2.1 (2018), section "contrast ratio".
func contrast(light, dark float64) float64 { return (light + 0.05) / (dark + 0.05) }

func lightnessOf(y float64) float64 {
	if y <= 216.0/24389 {
		return y * 24389 / 27
	}
	return 116*math.Cbrt(y) - 16
}

func TestGradeColoursReadToEveryEye(t *testing.T) {
	// from the standard: black on white is 21 : 1
	assert.InDelta(t, 21, contrast(luminance([3]float64{1, 1, 1}, eyes["all colours"]), 0), 1e-9)
	for name, eye := range eyes {
		for _, row := range eye { // white stays white
			assert.InDelta(t, 1, row[0]+row[1]+row[2], 1e-5, name)
		}
		last := math.Inf(1)
		for i, hex := range gradeColours {
			y := luminance(linearRGB(t, hex), eye)
			// WCAG 2.1, success criterion 1.4.11: 3 : 1 for parts of graphics
			assert.GreaterOrEqual(t, contrast(1, y), 3.0, "%s to an eye of %s", hex, name)
			if i > 0 {
				// common practice, no source: 7 of 100 steps of lightness part two greys
				assert.GreaterOrEqual(t, last-lightnessOf(y), 7.0, "steps %d and %d to an eye of %s", i-1, i, name)
			}
			last = lightnessOf(y)
		}
	}
	assert.InDelta(t, lightness(t, gradeColours[2]), lightnessOf(luminance(linearRGB(t, gradeColours[2]), eyes["all colours"])), 1e-9)
	assert.Greater(t, lightness(t, levelColour)-lightness(t, gradeColours[0]), 5.0, "level lines are lighter than any row")
}

func TestSteepRowsAreWider(t *testing.T) {
	width := regexp.MustCompile(`stroke-width="([\d.]+)"`)
	seen, last := map[string]bool{}, 0.0
	for step := -1; step < len(gradeColours); step++ {
		s := gradeStroke(step, 0.35)
		assert.False(t, seen[s])
		seen[s] = true
		if step >= 0 {
			w := asFloat(t, width.FindStringSubmatch(s)[1])
			assert.Greater(t, w, last)
			last = w
		}
		assert.Equal(t, step < 0, strings.Contains(s, "dasharray"))
	}
	assert.Equal(t, gradeStroke(4, 1), gradeStroke(9, 1), "no step is without a colour")
	assert.NotContains(t, []string{outlineDash, rowDash, obstacleDash, alleyDash}, unknownDash)
}

// Each stretch is drawn where the document has it, in the colour of its step.
func TestGradesAreDrawnInTheirPlaces(t *testing.T) {
	d := smallDocument(t, "metric")
	without := string(MapSVG(d))
	// the first row is 80 m long, from south to north
	d.Rows[0].Pieces[0].Grades = []result.Grade{{ToM: 30, ToPlanM: 30, Step: 0}, {FromM: 30, ToM: 80, FromPlanM: 30, ToPlanM: 80, Step: 3}}
	got := string(MapSVG(d))
	scale := asFloat(t, regexp.MustCompile(`>1 : (\d+)<`).FindStringSubmatch(got)[1])
	for _, c := range []struct {
		colour       string
		fromM, longM float64
	}{{gradeColours[0], 0, 30}, {gradeColours[3], 30, 50}} {
		m := regexp.MustCompile(`<g [^>]*` + c.colour + `[^>]*>\n<path d="M[\d.]+ ([\d.]+)L[\d.]+ ([\d.]+)"/>\n</g>`).FindStringSubmatch(got)
		require.NotNil(t, m, c.colour)
		assert.InDelta(t, c.longM, (asFloat(t, m[1])-asFloat(t, m[2]))*scale/1000, 0.02*scale/1000)
	}
	assert.Equal(t, 1, strings.Count(got, ">row, no terrain<"), "the other rows have no grade")
	assert.NotContains(t, got, rowColour)
	assert.NotContains(t, without, gradeColours[0], "without terrain rows are as they were")
	assert.Contains(t, without, ">row, with its number<")
}

// Cut at any places, the parts of a line are the line.
func TestStretchesMakeTheLine(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		var l []result.XY
		var total float64
		for i := range rapid.IntRange(2, 8).Draw(rt, "n") {
			l = append(l, result.XY{rapid.Float64Range(-90, 90).Draw(rt, "x"), rapid.Float64Range(-90, 90).Draw(rt, "y")})
			if i > 0 {
				total += math.Hypot(l[i][0]-l[i-1][0], l[i][1]-l[i-1][1])
			}
		}
		a := rapid.Float64Range(0, total).Draw(rt, "a")
		b := rapid.Float64Range(a, total).Draw(rt, "b")
		var sum float64
		for _, cut := range [][2]float64{{0, a}, {a, b}, {b, total + 1}} {
			var long float64
			part := stretch(l, cut[0], cut[1])
			for i := 1; i < len(part); i++ {
				long += math.Hypot(part[i][0]-part[i-1][0], part[i][1]-part[i-1][1])
			}
			require.InDelta(rt, min(cut[1], total)-cut[0], long, 1e-9*(1+total))
			sum += long
		}
		require.InDelta(rt, total, sum, 1e-9*(1+total))
	})
	assert.Empty(t, stretch(nil, 0, 5))
	assert.Empty(t, stretch([]result.XY{{0, 0}, {9, 0}}, 20, 30))
	assert.Empty(t, stretch([]result.XY{{1, 1}, {1, 1}}, 0, 1))
}

func TestThinnedLinesStayNear(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		pts := []point{{}}
		for range rapid.IntRange(0, 200).Draw(rt, "n") {
			p := pts[len(pts)-1]
			pts = append(pts, point{p.x + rapid.Float64Range(0, 0.5).Draw(rt, "dx"), p.y + rapid.Float64Range(-0.02, 0.02).Draw(rt, "dy")})
		}
		kept := thinned(pts)
		require.Equal(rt, pts[0], kept[0])
		require.Equal(rt, pts[len(pts)-1], kept[len(kept)-1])
		for _, p := range pts {
			near := math.Inf(1)
			for i := 1; i < len(kept); i++ {
				near = min(near, offSegment(p, kept[i-1], kept[i]))
			}
			if len(kept) > 1 {
				require.LessOrEqual(rt, near, thinMM+1e-12)
			}
		}
	})
	var straight []point
	for i := range 1000 {
		straight = append(straight, point{float64(i) * 0.1, float64(i) * 0.05})
	}
	assert.Less(t, len(thinned(straight)), 20)
}

// However many signs there are, the key stays clear of what is below and
// beside it, at the foot and in the column, on every paper.
func TestKeyFits(t *testing.T) {
	for lines := 1; lines <= 16; lines++ {
		foot, step := footOf(lines)
		// by hand: the first sign 4.1 mm below the edge, 1.8 mm of ring below the last, 6 mm of caution
		assert.LessOrEqual(t, 4.1+step*float64(lines-1)+1.8, foot-6, "%d lines", lines)
		assert.GreaterOrEqual(t, step, 3.6, "%d lines: rings do not touch", lines)
	}
	text := regexp.MustCompile(`<text [^>]*x="([\d.]+)" y="([\d.]+)"[^>]*>([^<]*)<`)
	for _, c := range []struct {
		units string
		w, h  float64
	}{{"metric", 180, 90}, {"us", 180, 90}, {"metric", 90, 180}, {"us", 90, 180}, {"metric", 150, 130}, {"metric", 900, 300}} {
		d := bentDocument(t, c.units)
		d.Blocks[0].Outline.Local[0] = []result.XY{{0, 0}, {c.w, 0}, {c.w, c.h}, {0, c.h}, {0, 0}}
		d.Blocks[0].Alleys = []result.Course{{Local: []result.XY{{0, 0}, {9, 9}}}}
		d.Field.Obstacles = smallDocument(t, c.units).Field.Obstacles
		d.Terrain = &result.Terrain{IntervalM: 2, LowestM: 203, HighestM: 216, Levels: []result.Level{{HeightM: 210, Local: []result.XY{{1, 1}, {9, 9}}}}}
		m := drawing{doc: d, sheet: newSheet(d)}
		entries := m.keyEntries()
		require.Equal(t, 11, keyLines(entries), "all there is")
		at := map[string]point{}
		for _, w := range text.FindAllStringSubmatch(string(MapSVG(d)), -1) {
			at[w[3]] = point{asFloat(t, w[1]), asFloat(t, w[2])}
		}
		last := 0.0
		for _, e := range entries {
			p, ok := at[e.text]
			require.True(t, ok, e.text)
			assert.Greater(t, p.y-last, 3.5, e.text)
			assert.LessOrEqual(t, p.x+widthMM(e.text, 2.6), m.sheet.w-marginMM, e.text)
			last = p.y
		}
		for s, p := range at {
			if strings.HasPrefix(s, "Caution") {
				assert.Less(t, last+1.5, p.y-3, "above the caution on %v", m.sheet)
			}
		}
	}
}
