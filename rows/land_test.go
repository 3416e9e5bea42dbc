//go:build !race

// The layouts here take seconds each, and minutes under the race detector: the
// gate runs them without it.

package rows_test

import (
	"context"
	"errors"
	"io"
	"math"
	"os"
	"path/filepath"
	"testing"

	"github.com/paulmach/orb"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hemrow/geo"
	"hemrow/geo/field"
	"hemrow/geo/format"
	"hemrow/geo/format/delivery"
	"hemrow/geo/format/geojson"
	"hemrow/geo/terrain"
	"hemrow/rows"
	"hemrow/rows/contour"
)

// pair is a field of the collection of real ground on its terrain.
func pair(t testing.TB, name, dem string) geo.Field {
	t.Helper()
	ctx := context.Background()
	data := os.DirFS(filepath.Join("..", "..", "shared", "data"))
	file, err := delivery.Read(delivery.Source{FS: data, Path: "pairs/" + name + ".geojson"}, delivery.Options{})
	require.NoError(t, err)
	f, _, err := field.Build(ctx, file, nil, field.Spec{ObstacleMark: "role=exclusion", Terrain: true})
	require.NoError(t, err)
	h, err := delivery.Heights(delivery.Source{FS: data, Path: "dem/" + dem + ".tif"}, delivery.Options{})
	require.NoError(t, err)
	f, _, _, err = field.Terrain(ctx, f, []field.Survey{{Raster: h.Raster, File: h.File}}, nil, field.TerrainSpec{})
	require.NoError(t, err)
	require.NoError(t, h.Close())
	return f
}

// Real ground, where it is at hand: what is laid scores no less than straight
// rows, and every invariant of a layout holds. The figures stand in README.md.
func TestRealGround(t *testing.T) {
	pairs := [][2]string{
		{"nc-fortbragg-spur", "nc-fortbragg-1m"},
		{"nc-fortbragg-gully", "nc-fortbragg-1m"},
		{"nz-hillcountry-flank", "nz-hillcountry-5m"},
		{"nz-hillcountry-spur", "nz-hillcountry-5m"},
		{"ar-pampas-block", "ar-pampas-wheat-10m"},
	}
	if _, err := os.Stat(filepath.Join("..", "..", "shared", "data", "pairs")); err != nil {
		pairs = nil // the ground of the other tests stands for it
	}
	for _, p := range pairs {
		t.Run(p[0], func(t *testing.T) {
			f := pair(t, p[0], p[1])
			s := rows.DefaultSpec()
			s.SpacingM, s.Style, s.Curving.FilmM = 5, rows.StyleBest, 1.2
			l, _, err := rows.Plan(context.Background(), f, s)
			require.NoError(t, err)
			require.NoError(t, l.Check())
			cv := l.Blocks[0].Curved
			straight, laid := cv.Choice.Candidates[0], cv.Laid()
			assert.GreaterOrEqual(t, laid.Score.JRatio, straight.Score.JRatio)
			if laid.Method != contour.Straight {
				assert.Empty(t, laid.Rejected)
				assert.Greater(t, laid.GoodHa, straight.GoodHa)
			}
			t.Logf("| %s | %.2f | %s | %.2f → %.2f | %.3f → %.3f | %.1f → %.1f | %d → %d | %.2f–%.2f | %.1f |", p[0], laid.Score.AreaM2/1e4, laid.Method,
				straight.GoodHa, laid.GoodHa, straight.Score.JRatio, laid.Score.JRatio, 100*straight.Score.Grade995Ratio, 100*laid.Score.Grade995Ratio,
				straight.Score.Pieces, laid.Score.Pieces, laid.Score.SpacingMinM, laid.Score.SpacingMaxM, laid.Score.RadiusMinM)
			t.Log(cv.Choice.Why)
		})
	}
}

// waves is ground with hills and hollows of a wavelength on a tilt.
type waves struct {
	k, heightM  float64 //unit:1/m for k
	east, north float64 //unit:ratio
	middle      orb.Point
}

func (w waves) Height(p orb.Point) (float64, bool) {
	x, y := p[0]-w.middle[0], p[1]-w.middle[1]
	return 300 + w.east*x + w.north*y + w.heightM*math.Sin(w.k*x+0.3)*math.Cos(0.7*w.k*y), true
}
func (w waves) Gradient(orb.Point) (east, north float64, ok bool) { return 0, 0, false }
func (w waves) Breaks(_, _ orb.Point, dst []float64) []float64    { return dst }
func (w waves) Bounds() orb.Bound                                 { return orb.Bound{} }
func (w waves) SpacingM() float64                                 { return 1 }
func (w waves) Describe() string                                  { return "waves" }

// Real outlines on waves of many sizes: whatever is laid, by whatever limits,
// keeps every invariant.
func TestRealOutlinesOnWaves(t *testing.T) {
	in, err := os.Open(filepath.Join("..", "cmd", "hemrow", "internal", "pipeline", "testdata", "outlines-cc0.ndjson"))
	require.NoError(t, err)
	defer in.Close()
	stream := geojson.NewStream("outlines", in)
	bent := 0
	for i := 0; ; i++ {
		raw, err := stream.Next()
		if errors.Is(err, io.EOF) {
			break
		}
		require.NoError(t, err)
		feature, _, err := stream.Decode(raw)
		require.NoError(t, err)
		file := format.File{Name: "outlines", Format: "GeoJSON", Reference: stream.Reference(), Features: []format.Feature{feature}}
		f, _, err := field.Build(context.Background(), file, nil, field.Spec{Terrain: true})
		require.NoError(t, err)
		b := f.Bound()
		sizeM := math.Max(b.Max[0]-b.Min[0], b.Max[1]-b.Min[1])
		if sizeM > 250 {
			continue // for time
		}
		w := waves{k: 2 * math.Pi / (sizeM * (0.4 + 0.3*float64(i%5))), east: 0.02 * float64(i%4), north: 0.015 * float64(i%3), middle: b.Center()}
		w.heightM = 0.06 / w.k
		l := terrain.SampleGrid(w, b.Pad(40), 2)
		f.Surface = l.Surface(terrain.Bilinear)
		s := rows.DefaultSpec()
		s.SpacingM = []float64{5, 3.5, 7}[i%3]
		s.Style = []rows.Style{rows.StyleBest, rows.StyleContour}[i%2]
		s.Curving.FilmM = 1.2
		if i%4 == 0 {
			s.LongestM = 90
		}
		if i%5 == 0 {
			s.Curving.TargetPct, s.Curving.TargetSide = 0.5, "SE"
		}
		layout, _, err := rows.Plan(context.Background(), f, s)
		require.NoError(t, err)
		assert.NoError(t, layout.Check(), "outline %d", i+1)
		for _, b := range layout.Blocks {
			if b.Bent {
				bent++
			}
		}
	}
	t.Logf("%d blocks bent", bent)
	assert.Greater(t, bent, 5)
}
