package contour

import (
	"fmt"
	"math"
	"testing"

	"github.com/paulmach/orb"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"hemrow/geo/polygon"
)

// gon is a regular polygon, counter-clockwise, closed.
func gon(r float64, n int) orb.LineString {
	var line orb.LineString
	for k := range n {
		a := 2 * math.Pi * float64(k) / float64(n)
		line = append(line, orb.Point{r * math.Cos(a), r * math.Sin(a)})
	}
	return append(line, line[0])
}

// apart is the distance of a point from a polyline by looking at every segment.
func apart(line orb.LineString, p orb.Point) float64 {
	best := math.Inf(1)
	for i := 1; i < len(line); i++ {
		best = min(best, polygon.PointSegmentM(p, line[i-1], line[i]))
	}
	return best
}

// dense is points along a polyline, at its vertices and between.
func dense(line orb.LineString, stepM float64) (pts []orb.Point) {
	for i := 1; i < len(line); i++ {
		n := max(1, int(math.Ceil(distM(line[i-1], line[i])/stepM)))
		for k := range n {
			pts = append(pts, along(line[i-1], line[i], float64(k)/float64(n)))
		}
	}
	return append(pts, line[len(line)-1])
}

// Around a convex polygon of perimeter P the offset at d has the length
// P + 2πd; within a regular one with the apothem a it has P(1 - d/a).
// Source: J. Steiner's formula (M. Berger, Geometry, 1987, 12.10.6, from
// memory) and similar triangles.
func TestOffsetOfCircle(t *testing.T) {
	const r, n, s = 40.0, 360, 5.0
	line := gon(r, n)
	c := NewCurve(line)
	perimeter, apothem := lengthM(line), r*math.Cos(math.Pi/n)
	for k := 1; k <= 20; k++ {
		d := float64(k) * s
		out := c.Offset(-d, 1e-6)
		require.Len(t, out, 1, "outside at %g m", d)
		assert.True(t, out[0].Closed)
		assert.InDelta(t, perimeter+2*math.Pi*d, lengthM(out[0].Line), 1e-4, "outside at %g m", d)
		assert.InDelta(t, 2*math.Pi*(r+d), lengthM(out[0].Line), 4e-3, "outside at %g m: circle of radius R + k s", d)
		in := c.Offset(d, 1e-6)
		if d >= r {
			assert.Empty(t, in, "inside at %g m nothing is left", d)
			continue
		}
		require.Len(t, in, 1, "inside at %g m", d)
		assert.True(t, in[0].Closed)
		assert.InDelta(t, perimeter*(1-d/apothem), lengthM(in[0].Line), 1e-7, "inside at %g m", d)
		for i, p := range in[0].Line {
			assert.InDelta(t, apothem-d, math.Hypot(p[0], p[1])*math.Cos(math.Pi/n), 1e-9)
			assert.InDelta(t, 1/(r-d), in[0].CurvPerM[i], 1e-4, "curvature")
		}
	}
}

func TestOffsetOfLine(t *testing.T) {
	for _, heading := range []float64{0, 37, 90, 200} {
		u := orb.Point{math.Sin(heading * math.Pi / 180), math.Cos(heading * math.Pi / 180)}
		a := orb.Point{3, -7}
		c := NewCurve(orb.LineString{a, {a[0] + 60*u[0], a[1] + 60*u[1]}, {a[0] + 100*u[0], a[1] + 100*u[1]}})
		for _, d := range []float64{5, -5, 250} {
			out := c.Offset(d, 0.001)
			require.Len(t, out, 1)
			line := out[0].Line
			assert.InDelta(t, 100, lengthM(line), 1e-9)
			want := orb.Point{a[0] - d*u[1], a[1] + d*u[0]}
			assert.InDelta(t, 0, distM(want, line[0]), 1e-9, "heading %g, distance %g", heading, d)
		}
	}
}

// hairpin is two straights of 100 m, 60 m apart, joined by half a circle.
func hairpin() orb.LineString {
	line := orb.LineString{{0, 0}}
	for k := range 65 {
		a := -math.Pi/2 + math.Pi*float64(k)/64
		line = append(line, orb.Point{100 + 30*math.Cos(a), 30 + 30*math.Sin(a)})
	}
	return append(line, orb.Point{0, 60})
}

func TestOffsetOfHairpin(t *testing.T) {
	c := NewCurve(hairpin())
	turns := 64 * 2 * 30 * math.Sin(math.Pi/128) // length of the chords of the bend
	for _, d := range []float64{5, 15, 25} {
		out := c.Offset(d, 1e-6)
		require.Len(t, out, 1)
		// Every turn takes d tan(turn/2) from both its sides.
		cut := 2 * d * (63*math.Tan(math.Pi/128) + 2*math.Tan(math.Pi/256))
		assert.InDelta(t, 200+turns-cut, lengthM(out[0].Line), 1e-9, "inside at %g", d)
		assert.False(t, math.IsInf(out[0].CurvPerM[1], 0))
	}
	assert.Empty(t, c.Offset(35, 1e-6), "beyond the middle line between the arms")
	for _, d := range []float64{5, 35, 200} {
		out := c.Offset(-d, 1e-6)
		require.Len(t, out, 1)
		assert.InDelta(t, 200+turns+math.Pi*d, lengthM(out[0].Line), 1e-3, "outside at %g", d)
	}
}

// A valley of two straights at a right angle: the offset within is cut where
// both are equally near, and marked as a corner only if segments between are
// gone.
func TestOffsetCornerIsMarked(t *testing.T) {
	c := NewCurve(orb.LineString{{-100, 100}, {-1, 1}, {1, 1}, {100, 100}})
	out := c.Offset(10, 0.001)
	require.Len(t, out, 1)
	corners := 0
	for _, k := range out[0].CurvPerM {
		if math.IsInf(k, 0) {
			corners++
		}
	}
	assert.Equal(t, 1, corners)
}

func TestOffsetKeepsDistance(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		line := wander(t)
		c := NewCurve(line)
		d := rapid.Float64Range(2, 120).Draw(t, "d")
		if rapid.Bool().Draw(t, "right") {
			d = -d
		}
		total := 0.0
		for _, o := range c.Offset(d, 0.0005) {
			total += lengthM(o.Line)
			require.Len(t, o.CurvPerM, len(o.Line))
			for _, p := range dense(o.Line, 3) {
				require.InDelta(t, math.Abs(d), apart(line, p), 1e-3, "distance from the guide at %v", p)
			}
			for _, p := range o.Line {
				require.InDelta(t, math.Abs(d), apart(line, p), 1e-8, "vertex %v", p)
			}
			requireSimple(t, o.Line)
		}
		// the walk counts whole steps, so that each part of it may be one off
		require.InDelta(t, levelLength(line, d), total, walkM*float64(len(line))+0.02*total, "nothing is lost")
	})
}

// wander is a line of gentle and sharp turns without loops of its own.
func wander(t *rapid.T) orb.LineString {
	n := rapid.IntRange(2, 25).Draw(t, "n")
	line := orb.LineString{{0, 0}}
	heading := 0.0
	for range n {
		heading += rapid.Float64Range(-0.7, 0.7).Draw(t, "turn")
		heading = max(-1.5, min(1.5, heading))
		step := rapid.Float64Range(1, 30).Draw(t, "step")
		p := line[len(line)-1]
		line = append(line, orb.Point{p[0] + step*math.Cos(heading), p[1] + step*math.Sin(heading)})
	}
	return line
}

// walkM is the step of levelLength.
const walkM = 0.05

// levelLength walks the parallels and arcs of a guide in small steps and counts
// those whose places are at the distance: what an offset must amount to.
func levelLength(line orb.LineString, d float64) (sum float64) {
	const step = walkM
	r, side := math.Abs(d), math.Copysign(1, d)
	count := func(p orb.Point, w float64) {
		if apart(line, p) > r-1e-7 {
			sum += w
		}
	}
	var last float64
	for i := 1; i < len(line); i++ {
		a, b := line[i-1], line[i]
		length := distM(a, b)
		heading := math.Atan2(b[1]-a[1], b[0]-a[0])
		n := int(math.Ceil(length / step))
		for k := range n {
			p := along(a, b, (float64(k)+0.5)/float64(n))
			count(orb.Point{p[0] - side*r*math.Sin(heading), p[1] + side*r*math.Cos(heading)}, length/float64(n))
		}
		if turn := math.Remainder(heading-last, 2*math.Pi); i > 1 && turn*side < 0 {
			n := int(math.Ceil(math.Abs(turn) * r / step))
			for k := range n {
				h := last + turn*(float64(k)+0.5)/float64(n)
				count(orb.Point{a[0] - side*r*math.Sin(h), a[1] + side*r*math.Cos(h)}, math.Abs(turn)*r/float64(n))
			}
		}
		last = heading
	}
	return sum
}

// requireSimple asks that a line neither crosses nor touches itself.
func requireSimple(t require.TestingT, line orb.LineString) {
	last := len(line) - 1
	for i := 1; i <= last; i++ {
		for j := i + 2; j <= last; j++ {
			if i == 1 && j == last && line[0] == line[last] {
				continue
			}
			if polygon.SegmentDistanceM(line[i-1], line[i], line[j-1], line[j]) == 0 {
				require.Fail(t, "line crosses itself", "segments %d and %d of %v", i, j, line)
			}
		}
	}
}

func TestOffsetsKeepApart(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := NewCurve(wander(t))
		const s = 5.0
		k := rapid.IntRange(-12, 11).Draw(t, "k")
		a, b := c.Offset(float64(k)*s, 0.0005), c.Offset(float64(k+1)*s, 0.0005)
		for _, p := range a {
			for _, q := range b {
				for _, v := range dense(p.Line, 1) {
					require.GreaterOrEqual(t, apart(q.Line, v), s-0.001)
				}
			}
		}
	})
}

func TestSignedM(t *testing.T) {
	c := NewCurve(hairpin())
	for _, at := range []struct {
		p    orb.Point
		want float64
	}{
		{orb.Point{50, 10}, 10},
		{orb.Point{50, -10}, -10},
		{orb.Point{50, 30}, 30},
		{orb.Point{140, 30}, -10},
		{orb.Point{-30, -40}, -50},
		{orb.Point{-30, 20}, math.Hypot(30, 20)},
	} {
		d, _ := c.SignedM(at.p)
		assert.InDelta(t, at.want, d, 0.02, "%v", at.p) // the bend is chords
	}
	_, m := c.SignedM(orb.Point{70, -3})
	assert.InDelta(t, 70, m, 1e-9)
}

func TestCurveOfNothing(t *testing.T) {
	assert.Nil(t, NewCurve(nil))
	assert.Nil(t, NewCurve(orb.LineString{{1, 1}}))
	assert.Nil(t, NewCurve(orb.LineString{{1, 1}, {1, 1}}))
	c := NewCurve(orb.LineString{{0, 0}, {10, 0}})
	assert.Nil(t, c.Offset(math.NaN(), 0.01))
	assert.Nil(t, c.Offset(math.Inf(1), 0.01))
	assert.Nil(t, c.Offset(5, 0))
	assert.Equal(t, orb.LineString{{0, 0}, {10, 0}}, c.Offset(0, 0.01)[0].Line)
}

func ExampleCurve_Offset() {
	guide := NewCurve(orb.LineString{{0, 0}, {100, 0}, {100, 50}})
	for _, o := range guide.Offset(10, 0.02) {
		fmt.Println(o.Line)
	}
	// Output: [[0 10] [90 10] [90 50]]
}

func BenchmarkOffset(b *testing.B) {
	var line orb.LineString
	for x := 0.0; x <= 500; x += 2 {
		line = append(line, orb.Point{x, 25 * math.Sin(x/70)})
	}
	c := NewCurve(line)
	for _, d := range []float64{5, 50, 200} {
		b.Run(fmt.Sprintf("d=%g", d), func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				c.Offset(d, 0.005)
			}
		})
	}
}
