package polygon_test

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

// course is a rectangle of w by h from its lower left corner, a vertex every
// step metres or so.
func course(w, h, stepM float64) (r orb.Ring) {
	c := []orb.Point{{0, 0}, {w, 0}, {w, h}, {0, h}, {0, 0}}
	for i := 1; i < len(c); i++ {
		n := int(math.Ceil(math.Hypot(c[i][0]-c[i-1][0], c[i][1]-c[i-1][1]) / stepM))
		for k := range n {
			t := float64(k) / float64(n)
			r = append(r, orb.Point{c[i-1][0] + t*(c[i][0]-c[i-1][0]), c[i-1][1] + t*(c[i][1]-c[i-1][1])})
		}
	}
	return r
}

func countKinds(fs []polygon.Fix) map[polygon.FixKind]int {
	m := map[polygon.FixKind]int{}
	for _, f := range fs {
		m[f.Kind]++
	}
	return m
}

// However a log runs on past its start, the ground is
// that of the rectangle to within the strip of noise along the end, and the
// place is told. A log without either is left as it is.
func TestLogsAreTrimmed(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		w, h := rapid.Float64Range(60, 300).Draw(t, "w"), rapid.Float64Range(60, 300).Draw(t, "h")
		step := rapid.Float64Range(0.8, 4).Draw(t, "step")
		r := course(w, h, step)
		clean := append(r.Clone(), r[0])
		parts, fixes, err := polygon.Repair(orb.Polygon{clean}, polygon.Options{})
		require.NoError(t, err)
		require.Empty(t, fixes)
		require.Equal(t, []orb.Polygon{{clean}}, parts)

		past := rapid.Float64Range(1.5, 4.8).Draw(t, "past")
		n := rapid.IntRange(2, 6).Draw(t, "vertices past")
		for k := 1; k <= n; k++ {
			r = append(r, orb.Point{past * float64(k) / float64(n), rapid.Float64Range(-0.2, 0.2).Draw(t, "aside")})
		}
		parts, fixes, err = polygon.Repair(orb.Polygon{append(r, r[0])}, polygon.Options{})
		require.NoError(t, err)
		require.Len(t, parts, 1)
		assert.Equal(t, 1, countKinds(fixes)[polygon.FixRunOn], "%v", fixes)
		cornerM2 := step * past / float64(n) / 2 // the log may cut the corner by one vertex
		assert.InDelta(t, w*h, polygon.AreaM2(parts[0]), 0.2*5+cornerM2)
		assert.Empty(t, polygon.Faults(parts[0]))
	})
}

func TestStandstillBecomesItsMean(t *testing.T) {
	r := course(100, 80, 2)
	at := r[10]
	star := []orb.Point{{0.1, 0}, {-0.08, 0.06}, {0.03, -0.1}, {0.03, 0.1}, {-0.08, -0.06}} // sums to 0
	var v orb.Ring
	v = append(v, r[:10]...)
	for _, s := range star {
		v = append(v, orb.Point{at[0] + s[0], at[1] + s[1]})
	}
	v = append(append(v, r[11:]...), r[0])
	parts, fixes, err := polygon.Repair(orb.Polygon{v}, polygon.Options{})
	require.NoError(t, err)
	require.Len(t, fixes, 1)
	assert.Equal(t, polygon.FixStandstill, fixes[0].Kind)
	assert.Equal(t, 10, fixes[0].Vertex)
	assert.InDelta(t, 5, fixes[0].Value, 0)
	assert.InDelta(t, 0, math.Hypot(fixes[0].At[0]-at[0], fixes[0].At[1]-at[1]), 1e-12)
	assert.InDelta(t, 8000, polygon.AreaM2(parts[0]), 1e-9)
	assert.Len(t, parts[0][0], len(r)+1)
}

func TestRunsOn(t *testing.T) {
	r := orb.LineString(course(100, 80, 2))
	assert.False(t, polygon.RunsOn(r))
	assert.True(t, polygon.RunsOn(append(r.Clone(), orb.Point{0.2, 0.1}, orb.Point{3, 0.1})))
	assert.False(t, polygon.RunsOn(append(r.Clone(), orb.Point{0.2, 3}, orb.Point{3, 3})), "3 m aside")
	assert.False(t, polygon.RunsOn(append(r.Clone(), orb.Point{0.1, 0.1}, orb.Point{2, 0.1}, orb.Point{4, 0.1}, orb.Point{6, 0.1}, orb.Point{8, 0.1})), "8 m on")
	for _, l := range []orb.LineString{nil, {{1, 1}}, {{1, 1}, {1, 1}}, {{0, 0}, {1, 0}, {2, 0}, {3, 0}, {4, 0}, {5, 0}}} {
		assert.False(t, polygon.RunsOn(l), "%v", l)
	}
}

func BenchmarkRepairCleanLog(b *testing.B) {
	for _, step := range []float64{10, 1, 0.1} {
		r := course(300, 300, step)
		p := orb.Polygon{append(r, r[0])}
		b.Run(fmt.Sprintf("n=%d", len(r)), func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				if _, f, err := polygon.Repair(p, polygon.Options{}); err != nil || len(f) > 0 {
					b.Fatal(f, err)
				}
			}
		})
	}
}
