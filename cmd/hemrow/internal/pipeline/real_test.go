package pipeline

import (
	"context"
	"encoding/json"
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
	"hemrow/geo/format/geojson"
	"hemrow/geo/polygon"
	"hemrow/rows"
)

// outlines lists the files of real outlines: the committed one always, the
// large ones when the shared data lies beside the repository.
func outlines(t testing.TB) []string {
	t.Helper()
	files := []string{filepath.Join("testdata", "outlines-cc0.ndjson")}
	for _, name := range []string{"outlines-all.ndjson", "outlines-osm-li.ndjson"} {
		p := filepath.Join("..", "..", "..", "..", "..", "shared", "data", name)
		if _, err := os.Stat(p); err == nil {
			files = append(files, p)
		}
	}
	return files
}

// eachOutline calls do for every feature of a file.
func eachOutline(t testing.TB, name string, do func(format.File, format.Feature)) int {
	t.Helper()
	in, err := os.Open(name)
	require.NoError(t, err)
	defer in.Close()
	s := geojson.NewStream(filepath.Base(name), in)
	n := 0
	for {
		raw, err := s.Next()
		if errors.Is(err, io.EOF) {
			return n
		}
		require.NoError(t, err)
		f, _, err := s.Decode(raw)
		require.NoError(t, err)
		n++
		do(format.File{Name: s.Name(), Format: "GeoJSON", Reference: s.Reference(), Features: []format.Feature{f}}, f)
	}
}

func number(v any) float64 {
	switch v := v.(type) {
	case json.Number:
		f, _ := v.Float64()
		return f
	case float64:
		return v
	}
	return math.NaN()
}

// Every real outline is planned or refused with its place; none crashes. Areas
// agree with the geodesic area that came with the data, and rows lie inside, clear of each
// edge by its distance. Clearances are measured here with package polygon,
// whose arithmetic the clip does not use.
//
// Source of area_ha: GeographicLib through pyproj, before the coordinates were
// rounded to 1e-7 degrees.
func TestRealOutlines(t *testing.T) {
	spec := rows.DefaultSpec()
	spec.SpacingM = 5
	spec.Heading = rows.Heading{Mode: rows.HeadingFixed, Bearing: 37}
	spec.FirstRow = rows.FirstRow{OffsetM: 2.5}
	spec.HeadlandM, spec.SideM, spec.ObstacleM, spec.ShortestM = 6, 3, 4, 1
	for _, name := range outlines(t) {
		refused, planted := 0, 0
		n := eachOutline(t, name, func(file format.File, ft format.Feature) {
			id := ft.Properties["id"]
			f, _, err := field.Build(context.Background(), file, nil, field.Spec{})
			if err != nil {
				refused++
				for _, e := range field.Errors(err) {
					assert.NotZero(t, e.Feature, "%v: a refusal names its place: %v", id, err)
				}
				return
			}
			var area float64
			for _, b := range f.Blocks {
				c := b.Outline.Bound().Center()
				area += polygon.AreaM2(b.Outline) / f.Frame.AreaScale(c)
			}
			if want := number(ft.Properties["area_ha"]); !math.IsNaN(want) {
				// printed to 1e-4 ha, coordinates rounded to 1e-7 degrees after
				assert.InDelta(t, want, area/geo.HectareM2, 0.5e-4+1e-6*want+roundingHa(f), "%v", id)
			}
			l, _, err := rows.Plan(context.Background(), f, spec)
			require.NoError(t, err, "%v", id)
			require.NoError(t, l.Check(), "%v", id)
			planted += len(l.Rows)
			clearOfEdges(t, l, id)
		})
		t.Logf("%s: %d outlines, %d refused, %d rows", filepath.Base(name), n, refused, planted)
		assert.Greater(t, n, 10)
		assert.Positive(t, planted)
	}
}

// roundingHa is what rounding the coordinates to 1e-7 degrees (at most 8 mm
// off in each corner) can change in the area: half the perimeter times that
// would be the worst; corners are independent, so its root stands here.
func roundingHa(f geo.Field) float64 {
	var sum float64
	for _, b := range f.Blocks {
		for _, r := range b.Outline {
			for i := 1; i < len(r); i++ {
				d := math.Hypot(r[i][0]-r[i-1][0], r[i][1]-r[i-1][1])
				sum += d * d
			}
		}
	}
	return 5 * 0.004 * math.Sqrt(sum) / geo.HectareM2
}

// outlineClearance is what an outline edge asks of rows along (ax, ay), from
// its own direction alone. An edge belongs to a side of the outline that is
// straight to a tenth of the spacing, so the side's direction differs from the
// edge's by at most asin(2·spacing/10 / length); only where that leaves no
// doubt that the rows run against it is the headland asked.
func outlineClearance(s rows.Spec, a, b orb.Point, ax, ay float64) float64 {
	dx, dy := b[0]-a[0], b[1]-a[1]
	d := math.Hypot(dx, dy)
	angle := math.Acos(math.Min(1, math.Abs(dx*ax+dy*ay)/d))
	doubt := math.Asin(math.Min(1, 0.2*s.SpacingM/d))
	if angle-doubt > s.SideAngleDeg*math.Pi/180 {
		return s.HeadlandM
	}
	return s.SideM
}

// clearOfEdges measures every piece of row against every edge: at least the
// side clearance from each outline edge, the headland from those the rows run
// against, the obstacle clearance from holes; and that it lies inside.
func clearOfEdges(t *testing.T, l rows.Layout, id any) {
	t.Helper()
	const mm = 0.001
	for _, r := range l.Rows {
		outline := l.Field.Blocks[r.Block].Outline
		ax, ay := l.Blocks[r.Block].Heading.Unit()
		for _, p := range r.Pieces {
			a, b := p.Line.At(0), p.Line.At(1)
			if !polygon.Contains(outline, orb.Point{(a[0] + b[0]) / 2, (a[1] + b[1]) / 2}) {
				t.Errorf("%v row %d lies outside", id, r.Number)
			}
			for k, ring := range outline {
				for i := 1; i < len(ring); i++ {
					want := l.Spec.ObstacleM
					if k == 0 {
						want = outlineClearance(l.Spec, ring[i-1], ring[i], ax, ay)
					}
					if got := polygon.SegmentDistanceM(a, b, ring[i-1], ring[i]); got < want-mm {
						t.Errorf("%v row %d comes within %.4f m of ring %d edge %d, asked %g", id, r.Number, got, k, i, want)
					}
				}
			}
		}
	}
}
