package terrain

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/paulmach/orb"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"hemrow/geo"
	"hemrow/geo/crs"
	"hemrow/geo/format"
)

// memory is a raster in memory that keeps the windows asked for.
type memory struct {
	layout  format.Layout
	unit    float64
	height  func(col, row int) float64
	windows [][4]int
}

func (m *memory) Head() format.File     { return format.File{Name: "hill.tif"} }
func (m *memory) Layout() format.Layout { return m.layout }
func (m *memory) HeightUnitM() float64  { return m.unit }
func (m *memory) Window(col0, row0, col1, row1 int) (format.Grid, error) {
	m.windows = append(m.windows, [4]int{col0, row0, col1, row1})
	g := format.Grid{Layout: m.layout}
	g.Cols, g.Rows = col1-col0, row1-row0
	for r := row0; r < row1; r++ {
		for c := col0; c < col1; c++ {
			g.Heights = append(g.Heights, m.height(c, r))
		}
	}
	return g, nil
}

func system(t testing.TB, code int) *crs.System {
	t.Helper()
	d, err := crs.ByCode(code)
	require.NoError(t, err)
	s, err := crs.New(d)
	require.NoError(t, err)
	return s
}

func frameAt(t testing.TB, lonDeg, latDeg float64) geo.Frame {
	t.Helper()
	f, ok := geo.NewFrame(geo.LonLat{LonDeg: lonDeg, LatDeg: latDeg})
	require.True(t, ok)
	return f
}

// centred is a layout of n x n cells of the given size, north up, around the
// frame's origin.
func centred(t testing.TB, sys *crs.System, f geo.Frame, n int, size float64) format.Layout {
	t.Helper()
	c, ok := sys.FromWGS84(f.Origin())
	require.True(t, ok)
	half := size * float64(n-1) / 2
	return format.Layout{Cols: n, Rows: n, OriginX: c.X - half, OriginY: c.Y + half, ColX: size, RowY: -size}
}

func boxOf(halfM float64) orb.Bound {
	return orb.Bound{Min: orb.Point{-halfM, -halfM}, Max: orb.Point{halfM, halfM}}
}

// sampled is a grid of a surface given in the frame.
func sampled(t testing.TB, sizeM, halfM float64, m Method, z func(x, y float64) float64) (*Grid, geo.Frame) {
	t.Helper()
	f, sys := frameAt(t, 9.4, 46), system(t, 32632)
	l := centred(t, sys, f, 2*int(halfM/sizeM)+11, sizeM)
	r := &memory{layout: l, unit: 1, height: func(c, row int) float64 {
		ll, _ := sys.ToWGS84(crs.XY{X: l.OriginX + float64(c)*l.ColX, Y: l.OriginY + float64(row)*l.RowY})
		p := f.ToLocal(ll)
		return z(p[0], p[1])
	}}
	g, _, err := FromRaster(r, sys, f, boxOf(halfM), GridOptions{Method: m})
	require.NoError(t, err)
	return g, f
}

// The fitted map against the exact chain, at random places between those that
// were checked when it was made.
func TestCellMap(t *testing.T) {
	for _, c := range []struct {
		name     string
		code     int
		lon, lat float64
		size     float64
		halfM    float64
	}{
		{"UTM near the middle", 32632, 9.1, 46, 1, 500},
		{"UTM at the edge of the zone, 10 km", 32632, 11.9, 46, 10, 5000},
		{"UTM south", 32720, -65.13, -37.92, 10, 600},
		{"New Zealand", 2193, 176.84, -39.84, 5, 1000},
		{"Lambert", 3358, -79.13, 35.1, 1, 300},
		{"Krovak", 5514, 17.5, 48.1, 1, 1000},
		{"degrees", 4326, 9.4, 60, 1.0 / 3600 / 10, 2000},
		{"degrees, 20 km", 4326, 9.4, 46, 1.0 / 3600, 10000},
		{"Web Mercator", 3857, 9.4, -34, 5, 2000},
	} {
		t.Run(c.name, func(t *testing.T) {
			f, sys := frameAt(t, c.lon, c.lat), system(t, c.code)
			r := &memory{layout: centred(t, sys, f, 60001, c.size), height: func(_, _ int) float64 { return 1 }}
			w, err := newWindow(r, sys, f, boxOf(c.halfM))
			require.NoError(t, err)
			m, err := fitCells(w.cell, w.box, w.cellM)
			require.NoError(t, err)
			rnd := rand.New(rand.NewPCG(1, 1))
			worst := 0.0
			for range 3000 {
				u, v := 2*rnd.Float64()-1, 2*rnd.Float64()-1
				want, ok := w.cell(orb.Point{m.mid[0] + u/m.perM[0], m.mid[1] + v/m.perM[1]})
				require.True(t, ok)
				col, row := m.cell(u, v)
				worst = max(worst, w.cellM*math.Hypot(col-want[0], row-want[1]))
				got, _, _ := m.jet(u, v)
				require.InDelta(t, col, got[0], 1e-9)
				require.InDelta(t, row, got[1], 1e-9)
			}
			t.Logf("degree %d, worst %.2g mm", m.degree, 1000*worst)
			assert.LessOrEqual(t, worst, geo.MapErrorM)
		})
	}
}

func TestRasterOverTheAntimeridian(t *testing.T) {
	// Longitudes from 0 to 360, a field at 180; one height for each degree.
	f, sys := frameAt(t, 180, -17), system(t, 4326)
	l := format.Layout{Cols: 3601, Rows: 1801, OriginY: 90, ColX: 0.1, RowY: -0.1}
	r := &memory{layout: l, unit: 1, height: func(c, _ int) float64 { return float64(c) * 0.1 }}
	g, _, err := FromRaster(r, sys, f, boxOf(1000), GridOptions{})
	require.NoError(t, err)
	for _, x := range []float64{-900, 0, 900} {
		z, ok := g.Height(orb.Point{x, 10})
		require.True(t, ok)
		want := f.ToLonLat(orb.Point{x, 10}).LonDeg
		assert.InDelta(t, math.Mod(want+360, 360), z, 1e-9)
	}
}

func TestGridReproducesPolynomials(t *testing.T) {
	f, sys := frameAt(t, 9.4, 46), system(t, 32632)
	l := centred(t, sys, f, 60, 5)
	for name, c := range map[string]struct {
		method Method
		z      func(c, r float64) float64
	}{
		"bilinear, c r":      {Bilinear, func(c, r float64) float64 { return 100 + 2*c - 3*r + 0.25*c*r }},
		"bicubic, quadratic": {Bicubic, func(c, r float64) float64 { return 100 + c - r + 0.2*c*r + 0.3*c*c - 0.1*r*r }},
	} {
		t.Run(name, func(t *testing.T) {
			r := &memory{layout: l, unit: 1, height: func(col, row int) float64 { return c.z(float64(col), float64(row)) }}
			g, _, err := FromRaster(r, sys, f, boxOf(120), GridOptions{Method: c.method})
			require.NoError(t, err)
			rnd := rand.New(rand.NewPCG(1, 1))
			for range 2000 {
				p := orb.Point{240*rnd.Float64() - 120, 240*rnd.Float64() - 120}
				xy, _ := sys.FromWGS84(f.ToLonLat(p))
				col, row := (xy.X-l.OriginX)/l.ColX, (xy.Y-l.OriginY)/l.RowY
				z, ok := g.Height(p)
				require.True(t, ok)
				// 0.1 mm of place at slopes of up to 8 a metre
				require.InDelta(t, c.z(col, row), z, 8*geo.MapErrorM)
				gradientFits(t, g, p, z)
			}
		})
	}
}

// gradientFits compares the gradient with differences of heights.
func gradientFits(t testing.TB, s Surface, p orb.Point, z float64) {
	t.Helper()
	const h = 1e-4
	gx, gy, ok := s.Gradient(p)
	require.True(t, ok)
	zx, ok1 := s.Height(orb.Point{p[0] + h, p[1]})
	zy, ok2 := s.Height(orb.Point{p[0], p[1] + h})
	if ok1 && ok2 {
		require.InDelta(t, (zx-z)/h, gx, 2e-3)
		require.InDelta(t, (zy-z)/h, gy, 2e-3)
	}
}

func TestGridCoverage(t *testing.T) {
	f, sys := frameAt(t, 9.4, 46), system(t, 32632)
	l := centred(t, sys, f, 41, 5)
	for _, m := range []Method{Bilinear, Bicubic} {
		r := &memory{layout: l, unit: 1, height: func(c, row int) float64 {
			if c == 20 && row == 20 {
				return math.NaN()
			}
			return 50
		}}
		g, notes, err := FromRaster(r, sys, f, boxOf(500), GridOptions{Method: m})
		require.NoError(t, err)
		assert.Contains(t, noteOf(t, notes, geo.NoteTerrain).Text, "41 x 41 cells, "+m.String())
		at := func(c, row float64) bool {
			ll, _ := sys.ToWGS84(crs.XY{X: l.OriginX + c*l.ColX, Y: l.OriginY + row*l.RowY})
			z, ok := g.Height(f.ToLocal(ll))
			_, _, okG := g.Gradient(f.ToLocal(ll))
			assert.Equal(t, ok, okG)
			if ok {
				assert.InDelta(t, 50, z, 1e-9)
			}
			return ok
		}
		const e = 1e-4
		for _, c := range []struct {
			col, row float64
			want     bool
		}{
			{0, 0, true},
			{40, 40, true},
			{0, 17.3, true},
			{40, 17.3, true},
			{-e, 17, false},
			{40 + e, 17, false},
			{17, -e, false},
			{17, 40 + e, false},
			{20, 20, false},
			{19 + e, 20.5, false},
			{19, 20.5, true},
			{21, 19.5, true},
			{21 - e, 20, false},
			{19, 19, true},
			{21, 21, true},
			{20, 21, true},
			{20, 21 - e, false},
		} {
			assert.Equal(t, c.want, at(c.col, c.row), "%s %v %v", m, c.col, c.row)
		}
	}
}

func TestOnlyTheWindowIsRead(t *testing.T) {
	f, sys := frameAt(t, 9.4, 46), system(t, 32632)
	r := &memory{layout: centred(t, sys, f, 5000, 1), unit: 1, height: func(_, _ int) float64 { return 7 }}
	g, _, err := FromRaster(r, sys, f, boxOf(100), GridOptions{})
	require.NoError(t, err)
	require.Len(t, r.windows, 1)
	w := r.windows[0]
	assert.Less(t, w[2]-w[0], 220)
	assert.Less(t, w[3]-w[1], 220)
	for _, p := range []orb.Point{{-100, -100}, {100, 100}, {-100, 100}, {102, 0}} {
		_, ok := g.Height(p)
		assert.True(t, ok, "%v", p)
	}
	assert.InDelta(t, 1, g.SpacingM(), 1e-3)
	assert.True(t, g.Bounds().Contains(orb.Point{100, 100}))
}

// Each break lies on a line between cell centres, and each such line that is
// crossed has its break: the cells at the breaks are found by the exact chain.
func TestGridBreaks(t *testing.T) {
	f, sys := frameAt(t, 11.8, 46), system(t, 32632)
	l := centred(t, sys, f, 201, 5)
	r := &memory{layout: l, unit: 1, height: func(_, _ int) float64 { return 1 }}
	g, _, err := FromRaster(r, sys, f, boxOf(600), GridOptions{})
	require.NoError(t, err)
	exact := func(p orb.Point) (c, row float64) {
		xy, _ := sys.FromWGS84(f.ToLonLat(p))
		return (xy.X - l.OriginX) / l.ColX, (xy.Y - l.OriginY) / l.RowY
	}
	rapid.Check(t, func(t *rapid.T) {
		co := rapid.Float64Range(-700, 700)
		a, b := orb.Point{co.Draw(t, "ax"), co.Draw(t, "ay")}, orb.Point{co.Draw(t, "bx"), co.Draw(t, "by")}
		if distM(a, b) < 1 {
			return
		}
		got := g.Breaks(a, b, nil)
		require.True(t, slices.IsSorted(got))
		for _, u := range got {
			c, row := exact(along(a, b, u))
			off := min(math.Abs(c-math.Round(c)), math.Abs(row-math.Round(row)))
			require.LessOrEqual(t, off*5, 3*geo.MapErrorM)
		}
		// Between breaks no line is crossed.
		ends := append(append([]float64{0}, got...), 1)
		for i := 1; i < len(ends); i++ {
			if (ends[i]-ends[i-1])*distM(a, b) < 0.01 {
				continue
			}
			c0, r0 := exact(along(a, b, ends[i-1]+0.1*(ends[i]-ends[i-1])))
			c1, r1 := exact(along(a, b, ends[i]-0.1*(ends[i]-ends[i-1])))
			if min(c0, c1, r0, r1) < 0 || max(c0, c1, r0, r1) > 200 {
				continue
			}
			for _, v := range [2][2]float64{{c0, c1}, {r0, r1}} {
				if math.Abs(v[0]-v[1]) > 1e-3 && math.Abs(v[0]-math.Round(v[0])) > 1e-4 && math.Abs(v[1]-math.Round(v[1])) > 1e-4 {
					require.Equal(t, math.Floor(v[0]), math.Floor(v[1]))
				}
			}
		}
	})
}

func TestHeightUnits(t *testing.T) {
	f, sys := frameAt(t, 9.4, 46), system(t, 32632)
	r := &memory{layout: centred(t, sys, f, 50, 5), height: func(c, _ int) float64 {
		if c == 3 {
			return -32767
		}
		return 1000
	}}
	at := func(opt GridOptions) (float64, geo.Notes) {
		g, notes, err := FromRaster(r, sys, f, boxOf(110), opt)
		require.NoError(t, err)
		z, ok := g.Height(orb.Point{})
		require.True(t, ok)
		return z, notes
	}
	z, notes := at(GridOptions{})
	assert.Equal(t, 1000.0, z)
	assert.Contains(t, notes[0].Text, "metres were taken")
	assert.Equal(t, geo.NoteHeightUnit, notes[0].Code)
	assert.Contains(t, notes[1].Text, "50 cells below -500 m")
	z, _ = at(GridOptions{HeightUnitM: geo.FootM})
	assert.InDelta(t, 304.8, z, 1e-9)
	r.unit = geo.SurveyFootM
	z, notes = at(GridOptions{})
	assert.InDelta(t, 304.80061, z, 1e-6)
	assert.NotContains(t, notes[0].Text, "metres were taken")
}

func TestFromRasterRefuses(t *testing.T) {
	f, sys := frameAt(t, 9.4, 46), system(t, 32632)
	good := centred(t, sys, f, 50, 5)
	away := good
	away.OriginX += 10000
	flat := good
	flat.RowY = 0
	for name, c := range map[string]struct {
		layout format.Layout
		unit   float64
		z      float64
		opt    GridOptions
		want   string
	}{
		"elsewhere":     {away, 1, 1, GridOptions{}, "hill.tif: terrain: it does not reach the field, which lies about 98"},
		"no area":       {flat, 1, 1, GridOptions{}, "make no surface"},
		"one row":       {format.Layout{Cols: 9, Rows: 1, ColX: 1, RowY: 1}, 1, 1, GridOptions{}, "9 x 1 cells make no surface"},
		"nothing known": {good, 1, math.NaN(), GridOptions{}, "no height is known"},
		"negative unit": {good, 1, 1, GridOptions{HeightUnitM: -1}, "must be positive"},
		"unit of file":  {good, math.NaN(), 1, GridOptions{}, "unit of heights"},
	} {
		t.Run(name, func(t *testing.T) {
			r := &memory{layout: c.layout, unit: c.unit, height: func(_, _ int) float64 { return c.z }}
			_, _, err := FromRaster(r, sys, f, boxOf(50), c.opt)
			assert.ErrorContains(t, err, c.want)
		})
	}
}

func BenchmarkGridHeight(b *testing.B) {
	for _, m := range []Method{Bilinear, Bicubic} {
		g, _ := sampled(b, 1, 500, m, plane)
		b.Run(fmt.Sprintf("%s degree=%d", m, g.cells.degree), func(b *testing.B) {
			// 400 samples, half a metre apart, along each of 200 rows in turn.
			const samples = 400
			sum, row := 0.0, 0
			for b.Loop() {
				y := float64(row%200) * 2
				for i := range samples {
					s := 0.5 * float64(i)
					z, _ := g.Height(orb.Point{0.9*s - 100, 0.4*s + y - 200})
					sum += z
				}
				row++
			}
			b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/samples, "ns/sample")
			if math.IsNaN(sum) {
				b.Fatal(sum)
			}
		})
	}
}
