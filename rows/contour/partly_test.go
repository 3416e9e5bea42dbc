package contour

import (
	"context"
	"fmt"
	"math"
	"strings"
	"testing"

	"github.com/paulmach/orb"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// partly is ground of which only some is surveyed.
type partly struct {
	shape
	known func(p orb.Point) bool
}

func (h partly) Height(p orb.Point) (float64, bool) {
	z, ok := h.shape.Height(p)
	return z, ok && h.known(p)
}

func (h partly) Gradient(p orb.Point) (east, north float64, ok bool) {
	east, north, ok = h.shape.Gradient(p)
	return east, north, ok && h.known(p)
}

// Where the ground is unknown rows go on as they were: here the west half of a
// plane has no heights, and all rows are straight all the same.
func TestUnknownGround(t *testing.T) {
	lim := Defaults(5)
	half := partly{plane(0.06, 37), func(p orb.Point) bool { return p[0] > 80 }}
	fit, err := Fit(context.Background(), Site{Area: orb.MultiPolygon{quad}, Design: half, Raw: half}, lim)
	require.NoError(t, err)
	for _, r := range fit.Rows {
		assert.Less(t, bow(r.Line), 0.01)
	}
	assert.Greater(t, fit.Score.NoGroundRatio, 0.3)
	assert.Equal(t, 1.0, fit.Score.OnGradeRatio)
}

// Beyond the survey, rows that follow bent ground within it run on straight, and
// keep their distance. What may be left of a bend there follows from what it
// costs: see straightM.
func TestRowsBeyondTheSurveyAreStraight(t *testing.T) {
	for name, ground := range map[string]shape{
		"cone": cone(0.08, orb.Point{-120, -90}), "near cone": cone(0.08, orb.Point{85, -100}), "nose": nose(0.055, 4, 280, 90),
	} {
		for _, edge := range []float64{60, 120} {
			lim := Defaults(5)
			part := partly{ground, func(p orb.Point) bool { return p[0] < edge }}
			fit, err := Fit(context.Background(), Site{Area: orb.MultiPolygon{quad}, Design: part, Raw: part}, lim)
			require.NoError(t, err)
			requireSound(t, fit.Layout, orb.MultiPolygon{quad}, lim)
			assert.Greater(t, fit.Score.NoGroundRatio, 0.25)
			assert.Greater(t, fit.Score.GoodRatio, 0.95, "%s to %g", name, edge)
			long := 0
			for _, r := range fit.Rows {
				beyond := clipWest(r.Line, edge)
				l := lengthM(beyond)
				if l < lim.ShortM {
					continue
				}
				long++
				assert.Less(t, bow(beyond), max(lim.ChordErrM, 0.5*(l/150)*(l/150)), "%s to %g", name, edge)
			}
			assert.Greater(t, long, 5)
		}
	}
}

// clipWest is the longest part of a line east of an edge.
func clipWest(line orb.LineString, edge float64) (best orb.LineString) {
	var part orb.LineString
	for i, p := range line {
		if i > 0 {
			if q := line[i-1]; (q[0] < edge) != (p[0] < edge) {
				cut := along(q, p, (edge-q[0])/(p[0]-q[0]))
				if part = append(part, cut); p[0] < edge {
					best, part = longer(best, part), nil
				}
			}
		}
		if p[0] >= edge {
			part = append(part, p)
		}
	}
	return longer(best, part)
}

func longer(a, b orb.LineString) orb.LineString {
	if lengthM(b) > lengthM(a) {
		return b
	}
	return a
}

// A gap in the survey is bridged as the ground around it bends: rows on a cone
// stay arcs through a strip without heights. (0.1 m: the sagitta of 20 m of
// unknown row on 120 m of radius is 0.4 m.)
func TestGapInTheSurvey(t *testing.T) {
	apex := orb.Point{85, -100}
	lim := Defaults(5)
	strip := partly{cone(0.08, apex), func(p orb.Point) bool { return math.Abs(p[0]-85) > 10 }}
	fit, err := Fit(context.Background(), Site{Area: orb.MultiPolygon{quad}, Design: strip, Raw: strip}, lim)
	require.NoError(t, err)
	for _, r := range fit.Rows {
		lo, hi := math.Inf(1), 0.0
		for _, p := range r.Line {
			d := distM(apex, p)
			lo, hi = min(lo, d), max(hi, d)
		}
		assert.Less(t, hi-lo, 0.1)
	}
	assert.True(t, inGap(strip, orb.Point{85, 70}))
	edge := partly{plane(0.05, 0), func(p orb.Point) bool { return p[0] < 80 }}
	assert.False(t, inGap(edge, orb.Point{85, 70}))
	assert.False(t, inGap(unsurveyed{}, orb.Point{85, 70}))
}

// eastOfM is how much of the rows has no grade where nothing is known east of
// x = edgeM: an end of the chord of 10 m about a place lies there.
func eastOfM(rows []Row, edgeM float64) (sumM float64) {
	const stepM = 0.05
	for _, r := range rows {
		c := newChain(r.Line)
		half := min(5, c.lengthM()/2)
		n := int(math.Ceil(c.lengthM() / stepM))
		for k := range n {
			mid := max(half, min(c.lengthM()-half, (float64(k)+0.5)*c.lengthM()/float64(n)))
			a, i := c.at(mid-half, 0)
			b, _ := c.at(mid+half, i)
			if max(a[0], b[0]) >= edgeM {
				sumM += c.lengthM() / float64(n)
			}
		}
	}
	return sumM
}

// The choice says how much of its rows lies where no heights are known, by looking
// along them, to the metre on each side of the border that is between places judged.
// Known ground, which is 120 of 160 m of the field, is bent: so rows along
// contours win, and run on straight.
func TestChoiceTellsOfUnknownGround(t *testing.T) {
	const edge = 120
	part := partly{nose(0.055, 4, 280, 90), func(p orb.Point) bool { return p[0] < edge }}
	site, lim := Site{Area: orb.MultiPolygon{quad}, Design: part, Raw: part}, Defaults(5)
	c, err := Best(context.Background(), site, lim, straightest(t, site, lim), nil)
	require.NoError(t, err)
	best := c.Best()
	require.NotEqual(t, Straight, best.Method)
	want, all := eastOfM(best.Rows, edge), totalM(best.Rows)
	assert.InDelta(t, 0.28, want/all, 0.05, "a little more than the share of the field, for the chord")
	var got, pct float64
	_, err = fmt.Sscanf(c.Partly, "The heights of the ground are not known along %f m of row, %f %% of all: the grade there is not judged and counts as good", &got, &pct)
	require.NoError(t, err, c.Partly)
	assert.InDelta(t, want, got, float64(len(best.Rows)))
	assert.InDelta(t, 100*want/all, pct, 100*float64(len(best.Rows))/all)
	assert.InDelta(t, got/all, best.Score.NoGroundRatio, 0.6/all, "as the score has it")
	assert.Contains(t, c.Why, fmt.Sprintf("%.2f ha of it on ground of unknown height", got*5/1e4))

	site.Design, site.Raw = part.shape, part.shape
	c, err = Best(context.Background(), site, lim, straightest(t, site, lim), nil)
	require.NoError(t, err)
	assert.Empty(t, c.Partly)
	assert.NotContains(t, c.Why, "unknown height")
}

// By hand: a quarter of 400 m is 100 m. Only rows of a field run on straight for
// it; straight rows are so anyway, and those along a guide follow the guide.
func TestWordsOfUnknownGround(t *testing.T) {
	const words, field = "The heights of the ground are not known along 100 m of row, 25.0 % of all: the grade there is not judged and counts as good",
		", and rows run on as straight as their spacing lets them"
	for m, want := range map[Method]string{Straight: words, ByGuide: words, ByField: words + field, Restarted: words + field} {
		c := Choice{Candidates: []Candidate{{Method: m, Layout: Layout{Score: Score{LengthM: 400, NoGroundRatio: 0.25}}}}}
		c.explainPartly()
		assert.Equal(t, want, strings.TrimSuffix(c.Partly, "."), m)
		c.Partly, c.Candidates[0].Score.NoGroundRatio = "", 0
		c.explainPartly()
		assert.Empty(t, c.Partly, m)
	}
}
