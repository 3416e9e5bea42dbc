package field_test

import (
	"context"
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hemrow/geo"
	"hemrow/geo/field"
	"hemrow/geo/format"
	"hemrow/geo/polygon"
)

func ExampleBuild() {
	at := func(lon, lat float64) format.Coord { return format.Coord{X: lon, Y: lat, Z: math.NaN()} }
	file := format.File{
		Name: "rise.geojson", Reference: format.Reference{WGS84: true},
		Features: []format.Feature{{Number: 1, Name: "Kestrel Rise", Polygons: []format.Polygon{{{
			at(-2.7184213, 52.0361847), at(-2.7155072, 52.0361847), at(-2.7155072, 52.0370835),
			at(-2.7155072, 52.0370835), at(-2.7184213, 52.0370835), at(-2.7184213, 52.0361847),
		}}}}},
	}
	f, notes, err := field.Build(context.Background(), file, nil, field.Spec{})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%s: %d block, %.2f ha\n", f.Name, len(f.Blocks), polygon.AreaM2(f.Blocks[0].Outline)/1e4)
	for _, n := range notes {
		fmt.Println(n)
	}
	// Output:
	// Kestrel Rise: 1 block, 2.00 ha
	// info: rise.geojson: feature 1 "Kestrel Rise", vertex 4 (-2.7155072, 52.0370835): repeated vertices dropped: 1
	// info: the height of the ground is not known: lengths are those at sea level
}

// The same drawing anywhere on earth is the same field: the frame of the
// drawing and that of the field are both true to 1e-9 at this size.
func TestSameFieldAnywhere(t *testing.T) {
	for name, s := range map[string]site{"Kestrel Rise": kestrel, "44 S": south, "60 N": north60, "equator": equator, "antimeridian": islands} {
		t.Run(name, func(t *testing.T) {
			r := s.ring(pt{-150, -100}, pt{150, -100}, pt{150, 100}, pt{0, 40}, pt{-150, 100})
			f, _, err := field.Build(context.Background(), fileOf(area(name, r, s.rect(-50, -50, 20, 20))), nil, field.Spec{})
			require.NoError(t, err)
			p := f.Blocks[0].Outline
			assert.InDelta(t, 300*200-150*60-400, polygon.AreaM2(p), 1e-3)
			assert.InDelta(t, 300+2*200+2*math.Hypot(150, 60)+80, polygon.PerimeterM(p), 1e-5)
			c := p.Bound().Center()
			assert.InDelta(t, 0, math.Hypot(c[0], c[1]), 0.01, "frame centred")
		})
	}
}

func TestHugeAndDenseOutlinesAreThinned(t *testing.T) {
	var pts []pt
	n := 20000
	for i := range n { // a circle of 100 m with a side of 3 cm
		a := 2 * math.Pi * float64(i) / float64(n)
		pts = append(pts, pt{100 * math.Cos(a), 100 * math.Sin(a)})
	}
	f, notes, err := field.Build(context.Background(), fileOf(area("Ring", kestrel.ring(pts...))), nil, field.Spec{})
	require.NoError(t, err)
	note, ok := find(notes, geo.NoteThinned)
	require.True(t, ok)
	m := len(f.Blocks[0].Outline[0]) - 1
	assert.InDelta(t, n-m, note.Value, 0.5)
	assert.Less(t, m, 600)
	assert.InEpsilon(t, math.Pi*1e4, polygon.AreaM2(f.Blocks[0].Outline), 1.1e-4)
}

func TestAreasArePlainDecimals(t *testing.T) {
	for side, want := range map[float64]string{5: `^the field has 0\.0025 ha$`, 31800: `^the field has 10112\d\.\d\d ha$`} {
		_, notes, err := field.Build(context.Background(), fileOf(area("Plain", equator.rect(0, 0, side, side))), nil, field.Spec{})
		require.NoError(t, err)
		n, ok := find(notes, geo.NoteUnusualSize)
		require.True(t, ok)
		assert.Regexp(t, want, n.Text)
	}
}

func TestBuildStopsWhenAsked(t *testing.T) {
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	_, _, err := field.Build(ctx, fileOf(area("Long Piece", kestrel.rect(0, 0, 9, 9))), nil, field.Spec{})
	assert.ErrorIs(t, err, context.Canceled)
}

func TestZeroInputs(t *testing.T) {
	_, _, err := field.Build(context.Background(), format.File{}, nil, field.Spec{})
	assert.Error(t, err)
	assert.Empty(t, field.Look(context.Background(), format.File{}, field.Spec{}).Features)
	assert.Empty(t, field.Errors(nil))
}

func FuzzBuild(f *testing.F) {
	f.Add(-2.7, 52.0, 0.001, 0.001, 0.0005, 0.002, 0.0002)
	f.Add(179.9999, -16.8, 0.001, 0.001, 0.0005, 0.0, -0.0002)
	f.Add(500000.0, 5300000.0, 10.0, 10.0, 5.0, 7.0, 0.0)
	f.Add(0.0, 0.0, math.NaN(), 1.0, math.Inf(1), -1.0, 90.0)
	f.Fuzz(func(t *testing.T, x, y, a, b, c, d, e float64) {
		at := func(x, y float64) format.Coord { return format.Coord{X: x, Y: y, Z: a} }
		r := format.Ring{at(x, y), at(x+a, y), at(x+a, y+b), at(x+c, y+d), at(x+e, y+b), at(x, y+b+e), at(x, y)}
		file := fileOf(area("a", r), format.Feature{Lines: [][]format.Coord{r[:5]}, Points: r[:1]})
		for _, s := range []field.Spec{{}, {SwapAxes: true, CloseLines: true, SplitCrossings: true, Choose: "all"}} {
			got, _, err := field.Build(context.Background(), file, []format.File{file}, s)
			if err != nil {
				continue
			}
			for _, bl := range got.Blocks {
				if f := polygon.Faults(bl.Outline); len(f) > 0 {
					t.Fatal(f)
				}
			}
		}
		field.Look(context.Background(), file, field.Spec{})
	})
}

// benchOutline is a field of 9 ha with n vertices.
func benchOutline(n int) format.File {
	var pts []pt
	for i := range n {
		a := 2 * math.Pi * float64(i) / float64(n)
		r := 170 + 10*math.Sin(5*a)
		pts = append(pts, pt{r * math.Cos(a), r * math.Sin(a)})
	}
	return fileOf(area("Long Piece", kestrel.ring(pts...)))
}

func BenchmarkBuild(b *testing.B) {
	for _, n := range []int{4, 26, 100, 1000, 10000} {
		file := benchOutline(n)
		b.Run(fmt.Sprintf("n=%d", n), func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				if _, _, err := field.Build(context.Background(), file, nil, field.Spec{}); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
