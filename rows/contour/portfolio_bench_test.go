package contour

import (
	"context"
	"strings"
	"testing"

	"github.com/paulmach/orb"
	"github.com/stretchr/testify/require"

	"hemrow/geo/terrain"
)

// A field of 12 ha on a grid of 1 m, with the ground that asks most of each
// method: restarts in every round, and a crater.
func BenchmarkBest(b *testing.B) {
	const grow = 1.036 // convex is 11.2 ha
	var ring orb.Ring
	for _, p := range convex[0] {
		ring = append(ring, orb.Point{grow * p[0], grow * p[1]})
	}
	field := orb.Polygon{ring}
	lim := Defaults(5)
	for _, name := range []string{"saddle", "nose", "crater", "nose, half the slope"} {
		b.Run(name, func(b *testing.B) {
			name, half := strings.CutSuffix(name, ", half the slope")
			lim.HalfSlope = half
			raw := terrain.SampleGrid(grounds[name], field.Bound().Pad(30), 1).Surface(terrain.Bilinear)
			site := siteAt(b, field, raw, nil)
			straight := straightest(b, site, lim)
			b.ReportAllocs()
			for b.Loop() {
				_, err := Best(context.Background(), site, lim, straight, nil)
				require.NoError(b, err)
			}
		})
	}
}
