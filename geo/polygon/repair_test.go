package polygon_test

import (
	"fmt"
	"math"
	"slices"
	"testing"

	"github.com/paulmach/orb"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"hemrow/geo/polygon"
)

func ring(xy ...float64) orb.Ring {
	var r orb.Ring
	for i := 0; i+1 < len(xy); i += 2 {
		r = append(r, orb.Point{xy[i], xy[i+1]})
	}
	return append(r, r[0])
}

func rect(x, y, w, h float64) orb.Ring { return ring(x, y, x+w, y, x+w, y+h, x, y+h) }

func hole(r orb.Ring) orb.Ring {
	r = slices.Clone(r)
	slices.Reverse(r)
	return r
}

// Expected values by hand, from the drawings.
func TestFaultsAndRepairs(t *testing.T) {
	field := rect(0, 0, 200, 100)
	nan := math.NaN()
	for _, c := range []struct {
		name   string
		p      orb.Polygon
		split  bool
		faults []polygon.FaultKind
		fixes  []polygon.FixKind
		value  float64 // of the first fix
		parts  int     // 0 means refused
		areaM2 float64
		at     orb.Point // of the first fault
	}{
		{"clean", orb.Polygon{field}, false, nil, nil, 0, 1, 20000, orb.Point{}},
		{"clockwise is no fault, but turned", orb.Polygon{hole(field)}, false, nil, []polygon.FixKind{polygon.FixTurned}, 20000, 1, 20000, orb.Point{}},
		{"empty", orb.Polygon{}, false, []polygon.FaultKind{polygon.TooFewPoints}, nil, 0, 0, 0, orb.Point{}},
		{"empty ring", orb.Polygon{{}}, false, []polygon.FaultKind{polygon.TooFewPoints}, nil, 0, 0, 0, orb.Point{}},
		{"one point", orb.Polygon{{{1, 1}}}, false, []polygon.FaultKind{polygon.TooFewPoints}, nil, 0, 0, 0, orb.Point{1, 1}},
		{"two equal points", orb.Polygon{{{1, 1}, {1, 1}}}, false, []polygon.FaultKind{polygon.TooFewPoints}, nil, 0, 0, 0, orb.Point{1, 1}},
		{"in line", orb.Polygon{ring(0, 0, 5, 5, 9, 9)}, false, []polygon.FaultKind{polygon.Spike, polygon.ZeroArea, polygon.Spike}, nil, 0, 0, 0, orb.Point{}},
		{"not finite", orb.Polygon{ring(0, 0, 5, nan, 9, 9)}, false, []polygon.FaultKind{polygon.NotFinite}, nil, 0, 0, 0, orb.Point{}},
		{"infinite", orb.Polygon{ring(0, 0, math.Inf(1), 3, 9, 9)}, false, []polygon.FaultKind{polygon.NotFinite}, nil, 0, 0, 0, orb.Point{}},
		{"unclosed", orb.Polygon{{{0, 0}, {60, 0}, {60, 60}, {0, 60}, {0, 0.5}}}, false, []polygon.FaultKind{polygon.Unclosed}, []polygon.FixKind{polygon.FixClosed}, 0.5, 1, 3600, orb.Point{0, 0.5}},
		{"unclosed, far", orb.Polygon{{{0, 0}, {1, 0}, {2, 0}, {3, 1}, {3, 50}}}, false, []polygon.FaultKind{polygon.Unclosed}, nil, 0, 0, 0, orb.Point{3, 50}},
		{"snapped", orb.Polygon{{{0, 0}, {60, 0}, {60, 60}, {0, 60}, {0, 0.004}, {0, 0}}}, false, nil, []polygon.FixKind{polygon.FixSnapped}, 0.004, 1, 3600, orb.Point{}},
		{"repeated", orb.Polygon{ring(0, 0, 200, 0, 200, 0, 200, 0, 200, 100, 0, 100)}, false, []polygon.FaultKind{polygon.Duplicate}, []polygon.FixKind{polygon.FixDuplicate}, 2, 1, 20000, orb.Point{200, 0}},
		{"spike", orb.Polygon{ring(0, 0, 200, 0, 200, 100, 80, 100, 80, 130, 80, 100, 0, 100)}, false, []polygon.FaultKind{polygon.SelfTouch, polygon.Spike}, []polygon.FixKind{polygon.FixSpike}, 30, 1, 20000, orb.Point{80, 100}},
		{"bow-tie", orb.Polygon{ring(0, 0, 100, 80, 100, 0, 0, 80)}, false, []polygon.FaultKind{polygon.SelfCrossing}, nil, 0, 0, 0, orb.Point{50, 40}},
		{"bow-tie split", orb.Polygon{ring(0, 0, 100, 80, 100, 0, 0, 80)}, true, []polygon.FaultKind{polygon.SelfCrossing}, []polygon.FixKind{polygon.FixSplit}, 2, 2, 4000, orb.Point{50, 40}},
		{"three crossings in one point", orb.Polygon{ring(0, 0, 200, 0, 200, 100, -1, 100, -1, 99, 1, 101, 0, 101)}, true, []polygon.FaultKind{polygon.SelfCrossing, polygon.SelfCrossing, polygon.SelfCrossing}, []polygon.FixKind{polygon.FixCrossing}, 0, 1, 0, orb.Point{}},
		{"small loop", orb.Polygon{ring(0, 0, 200, 0, 200, 100, 100, 100, 99.9, 100.2, 100.1, 100.2, 99.95, 100, 0, 100)}, false, nil, nil, 0, 1, 0, orb.Point{}},
		{"pinched", orb.Polygon{ring(0, 0, 50, 50, 100, 0, 100, 100, 50, 50, 0, 100)}, false, []polygon.FaultKind{polygon.SelfTouch}, []polygon.FixKind{polygon.FixTouch}, 2500, 2, 5000, orb.Point{50, 50}},
		{"hole by a bridge", orb.Polygon{ring(0, 0, 200, 0, 200, 100, 0, 100, 0, 0, 50, 50, 50, 70, 80, 70, 80, 50, 50, 50)}, false, nil, nil, 0, 1, 20000 - 600, orb.Point{}},
		{"hole outside", orb.Polygon{field, hole(rect(300, 0, 9, 9))}, false, []polygon.FaultKind{polygon.HoleOutside}, nil, 0, 0, 0, orb.Point{300, 0}},
		{"hole crossing", orb.Polygon{field, hole(rect(190, 20, 40, 40))}, false, []polygon.FaultKind{polygon.HoleCrossing}, nil, 0, 0, 0, orb.Point{}},
		{"hole along the edge", orb.Polygon{field, hole(rect(160, 20, 40, 40))}, false, []polygon.FaultKind{polygon.HoleCrossing}, []polygon.FixKind{polygon.FixHoleClipped}, 0, 1, 18400, orb.Point{}},
		{"hole is the outline", orb.Polygon{field, hole(field)}, false, []polygon.FaultKind{polygon.HoleCrossing}, nil, 0, 0, 0, orb.Point{}},
		{"holes overlap", orb.Polygon{field, hole(rect(50, 20, 40, 40)), hole(rect(70, 40, 40, 40))}, false, []polygon.FaultKind{polygon.HolesOverlap}, []polygon.FixKind{polygon.FixHolesJoined}, 400, 1, 20000 - 2800, orb.Point{}},
		{"holes around an island", orb.Polygon{field, hole(ring(20, 20, 80, 20, 80, 40, 40, 40, 40, 60, 80, 60, 80, 80, 20, 80)), hole(rect(70, 20, 20, 60))}, false, []polygon.FaultKind{polygon.HolesOverlap}, []polygon.FixKind{polygon.FixHolesJoined, polygon.FixIsland}, 400, 2, 20000 - 70*60 + 600, orb.Point{}},
		{"nested holes", orb.Polygon{field, hole(rect(50, 20, 60, 60)), hole(rect(60, 30, 10, 10))}, false, []polygon.FaultKind{polygon.NestedHole}, []polygon.FixKind{polygon.FixIsland}, 100, 2, 20000 - 3600 + 100, orb.Point{60, 30}},
		{"hole in an island in a hole", orb.Polygon{field, hole(rect(50, 20, 60, 60)), hole(rect(60, 30, 40, 40)), hole(rect(70, 40, 5, 5))}, false, nil, []polygon.FixKind{polygon.FixIsland}, 1600, 2, 20000 - 3600 + 1600 - 25, orb.Point{}},
		{"hole touching in one point", orb.Polygon{field, hole(ring(0, 0, 60, 30, 30, 60))}, false, nil, nil, 0, 1, 20000 - 1350, orb.Point{}},
		{"holes cutting apart", orb.Polygon{field, hole(ring(100, 0, 110, 50, 90, 50)), hole(ring(90, 50, 110, 60, 100, 100))}, false, []polygon.FaultKind{polygon.CutApart}, []polygon.FixKind{polygon.FixCutApart}, 2, 2, 20000 - 500 - 450, orb.Point{}},
		{"flat hole", orb.Polygon{field, ring(10, 10, 20, 20, 30, 30)}, false, nil, nil, 0, 1, 20000, orb.Point{}},
	} {
		t.Run(c.name, func(t *testing.T) {
			in := c.p.Clone()
			faults := polygon.Faults(c.p)
			if c.faults != nil {
				assert.Equal(t, c.faults, kinds(faults), "%v", faults)
				if c.at != (orb.Point{}) {
					assert.Equal(t, c.at, faults[0].At)
				}
			}
			parts, fixes, err := polygon.Repair(c.p, polygon.Options{SplitCrossings: c.split})
			assert.Equal(t, fmt.Sprint(in), fmt.Sprint(c.p), "input changed")
			if c.parts == 0 {
				var r *polygon.Refusal
				require.ErrorAs(t, err, &r)
				assert.NotEmpty(t, r.Error())
				return
			}
			require.NoError(t, err)
			require.Len(t, parts, c.parts)
			sum := 0.0
			for _, p := range parts {
				assert.Empty(t, polygon.Faults(p))
				require.NoError(t, validate(p))
				sum += polygon.AreaM2(p)
			}
			if c.areaM2 > 0 {
				assert.InDelta(t, c.areaM2, sum, 1e-6)
			}
			got := map[polygon.FixKind]bool{}
			for _, f := range fixes {
				got[f.Kind] = true
			}
			for _, k := range c.fixes {
				assert.True(t, got[k], "%s missing in %v", k, fixes)
			}
			if c.value > 0 {
				assert.InDelta(t, c.value, valueOf(fixes, c.fixes[0]), 1e-6)
			}
		})
	}
}

func kinds(fs []polygon.Fault) (out []polygon.FaultKind) {
	for _, f := range fs {
		out = append(out, f.Kind)
	}
	return out
}

func valueOf(fs []polygon.Fix, k polygon.FixKind) float64 {
	for _, f := range fs {
		if f.Kind == k {
			return f.Value
		}
	}
	return math.NaN()
}

// star draws a random star-shaped outline, always simple.
func star(t *rapid.T, n int) orb.Ring {
	var r orb.Ring
	for i := range n {
		a := 2 * math.Pi * (float64(i) + rapid.Float64Range(0, 0.6).Draw(t, "a")) / float64(n)
		d := rapid.Float64Range(30, 160).Draw(t, "r")
		r = append(r, orb.Point{d * math.Cos(a), d * math.Sin(a)})
	}
	return append(r, r[0])
}

// moved turns and shifts a ring, starts it elsewhere, and maybe reverses it.
func moved(t *rapid.T, r orb.Ring) orb.Ring {
	s, c := math.Sincos(rapid.Float64Range(0, 7).Draw(t, "turn"))
	dx, dy := rapid.Float64Range(-9000, 9000).Draw(t, "dx"), rapid.Float64Range(-9000, 9000).Draw(t, "dy")
	n := len(r) - 1
	k := rapid.IntRange(0, n-1).Draw(t, "start")
	var out orb.Ring
	for i := range n {
		p := r[(i+k)%n]
		out = append(out, orb.Point{c*p[0] - s*p[1] + dx, s*p[0] + c*p[1] + dy})
	}
	if rapid.Bool().Draw(t, "reverse") {
		slices.Reverse(out)
	}
	return append(out, out[0])
}

func TestStarsKeepTheirNature(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := star(t, rapid.SampledFrom([]int{5, 9, 40, 90}).Draw(t, "n"))
		p, q := orb.Polygon{r}, orb.Polygon{moved(t, r)}
		assert.Empty(t, polygon.Faults(p))
		assert.Empty(t, polygon.Faults(q))
		assert.InDelta(t, polygon.AreaM2(p), polygon.AreaM2(q), 1e-6)
		assert.InDelta(t, polygon.PerimeterM(p), polygon.PerimeterM(q), 1e-7)
		parts, _, err := polygon.Repair(q, polygon.Options{})
		require.NoError(t, err)
		require.Len(t, parts, 1)
		assert.InDelta(t, polygon.AreaM2(p), polygon.AreaM2(parts[0]), 1e-6)

		// two vertices exchanged: crossing wherever it is drawn
		bad := slices.Clone(r)
		bad[1], bad[3] = bad[3], bad[1]
		was := len(polygon.Faults(orb.Polygon{bad})) > 0
		assert.Equal(t, was, len(polygon.Faults(orb.Polygon{moved(t, bad)})) > 0)
	})
}

// Verification inside Inset is tested against points found independently.
func TestInsetOfStars(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := orb.Polygon{star(t, rapid.SampledFrom([]int{5, 9, 30}).Draw(t, "n"))}
		d := rapid.SampledFrom([]float64{0.5, 3, 8, 25}).Draw(t, "d")
		in, err := polygon.Inset(p, d)
		require.NoError(t, err)
		assert.LessOrEqual(t, polygon.TotalAreaM2(in), polygon.AreaM2(p))
		for range 60 {
			pt := orb.Point{rapid.Float64Range(-160, 160).Draw(t, "x"), rapid.Float64Range(-160, 160).Draw(t, "y")}
			dist := polygon.DistanceM(p, pt)
			inside := slices.ContainsFunc(in, func(q orb.Polygon) bool { return polygon.Contains(q, pt) })
			switch {
			case !polygon.Contains(p, pt) || dist < d-polygon.BufferSlackM(d):
				assert.False(t, inside, "%v is %g m from the edge", pt, dist)
			case dist > d+polygon.BufferLossM(d):
				assert.True(t, inside, "%v is %g m from the edge", pt, dist)
			}
		}
	})
}

func TestAreaIdentities(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a, b := orb.Polygon{star(t, 8)}, orb.Polygon{moved(t, star(t, 6))}
		for i := range b[0] { // bring it near again
			b[0][i] = orb.Point{math.Remainder(b[0][i][0], 400), math.Remainder(b[0][i][1], 400)}
		}
		if len(polygon.Faults(b)) > 0 {
			t.Skip("torn by the shift")
		}
		d, err := polygon.Difference(a, []orb.Polygon{b})
		require.NoError(t, err)
		both, err := polygon.OverlapAreaM2(a, b)
		require.NoError(t, err)
		u, err := polygon.Union([]orb.Polygon{a, b})
		require.NoError(t, err)
		assert.InDelta(t, polygon.AreaM2(a), polygon.TotalAreaM2(d)+both, 1e-4)
		assert.InDelta(t, polygon.AreaM2(a)+polygon.AreaM2(b), polygon.TotalAreaM2(u)+both, 1e-4)
	})
}

func TestIndexFindsTheNearest(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := orb.Polygon{star(t, rapid.IntRange(3, 200).Draw(t, "n"))}
		ix := polygon.NewIndex(p...)
		pt := orb.Point{rapid.Float64Range(-300, 300).Draw(t, "x"), rapid.Float64Range(-300, 300).Draw(t, "y")}
		i, d := ix.NearestM(pt)
		assert.Equal(t, polygon.DistanceM(p, pt), d)
		a, b := ix.Segment(i)
		assert.Equal(t, d, polygon.PointSegmentM(pt, a, b))
		seen := 0
		ix.Search(p.Bound(), func(int) bool { seen++; return true })
		assert.Equal(t, ix.Len(), seen)
	})
	i, d := new(polygon.Index).NearestM(orb.Point{})
	assert.Equal(t, -1, i)
	assert.True(t, math.IsInf(d, 1))
}

func TestInsetAndClearRefuse(t *testing.T) {
	p := orb.Polygon{rect(0, 0, 50, 50)}
	bow := orb.Polygon{ring(0, 0, 100, 80, 100, 0, 0, 80)}
	for _, d := range []float64{-1, math.NaN(), math.Inf(1)} {
		_, err := polygon.Inset(p, d)
		assert.Error(t, err)
		_, err = polygon.Clear(p, []polygon.Keep{{DistanceM: d}})
		assert.Error(t, err)
	}
	_, err := polygon.Inset(bow, 1)
	assert.ErrorContains(t, err, "crosses itself")
	_, err = polygon.Difference(p, []orb.Polygon{bow})
	assert.ErrorContains(t, err, "crosses itself")
	_, err = polygon.Clear(p, []polygon.Keep{{Areas: []orb.Polygon{bow}, DistanceM: 1}})
	assert.ErrorContains(t, err, "crosses itself")
	_, err = polygon.Clear(p, []polygon.Keep{{Lines: []orb.LineString{{}}, DistanceM: 1}})
	assert.Error(t, err)

	same, err := polygon.Inset(p, 0)
	require.NoError(t, err)
	assert.Equal(t, orb.MultiPolygon{p}, same)
	none, err := polygon.Inset(p, 25.1)
	require.NoError(t, err)
	assert.Empty(t, none)
	all, err := polygon.Clear(p, nil)
	require.NoError(t, err)
	assert.Equal(t, orb.MultiPolygon{p}, all)
}

func TestClearOfPostPondAndDitch(t *testing.T) {
	p := orb.Polygon{rect(0, 0, 200, 100)}
	got, err := polygon.Clear(p, []polygon.Keep{
		{Lines: []orb.LineString{{{40, 50}}}, DistanceM: 3},
		{Areas: []orb.Polygon{{rect(80, 40, 20, 10)}}, DistanceM: 5},
		{Lines: []orb.LineString{{{150, -10}, {150, 110}}}, DistanceM: 2},
	})
	require.NoError(t, err)
	require.Len(t, got, 2, "the ditch cuts the field")
	want := 20000.0 - math.Pi*9 - (20*10 + 2*5*30 + math.Pi*25) - 4*100
	assert.InDelta(t, want, polygon.TotalAreaM2(got), 0.001*(2*math.Pi*3+60+2*math.Pi*5+200))
}

func TestThin(t *testing.T) {
	var r orb.Ring
	for i := range 5000 { // a field of 100 m by 60 m walked in steps of 6 cm, with 4 mm of noise
		s := float64(i) / 5000 * 320
		p := orb.Point{s, 0}
		switch {
		case s > 260:
			p = orb.Point{0, 320 - s}
		case s > 160:
			p = orb.Point{260 - s, 60}
		case s > 100:
			p = orb.Point{100, s - 100}
		}
		r = append(r, orb.Point{p[0] + 0.004*math.Sin(float64(7*i)), p[1] + 0.004*math.Cos(float64(11*i))})
	}
	r = append(r, r[0])
	got := polygon.Thin(r, 0.01)
	assert.Less(t, len(got), 300)
	assert.InEpsilon(t, polygon.AreaM2(orb.Polygon{r}), polygon.AreaM2(orb.Polygon{got}), 1e-4)
	for _, v := range r {
		assert.LessOrEqual(t, polygon.DistanceM(orb.Polygon{got}, v), 0.01)
	}
	assert.Equal(t, rect(0, 0, 1, 1), polygon.Thin(rect(0, 0, 1, 1), 0))
	assert.Empty(t, polygon.Thin(nil, 1))
	spiral := ring(0, 0, 100, 0, 100, 50, 0, 50, 0, 0.012, 99, 0.012, 99, 0.006, 0, 0.006) // arms closer than the tolerance
	require.Empty(t, polygon.Faults(orb.Polygon{spiral}))
	assert.Empty(t, polygon.Faults(orb.Polygon{polygon.Thin(spiral, 0.05)}))
}

func TestZeroInputs(t *testing.T) {
	assert.Zero(t, polygon.AreaM2(nil))
	assert.Zero(t, polygon.SignedAreaM2(nil))
	assert.Zero(t, polygon.SignedAreaM2(orb.Ring{{1, 1}, {2, 2}}))
	assert.Zero(t, polygon.PerimeterM(nil))
	assert.Zero(t, polygon.PerimeterM(orb.Polygon{{{1, 1}}}))
	assert.False(t, polygon.Contains(nil, orb.Point{}))
	assert.False(t, polygon.Contains(orb.Polygon{{}}, orb.Point{}))
	assert.True(t, math.IsInf(polygon.DistanceM(nil, orb.Point{}), 1))
	assert.Zero(t, polygon.SegmentDistanceM(orb.Point{1, 1}, orb.Point{1, 1}, orb.Point{1, 1}, orb.Point{1, 1}))
	assert.Empty(t, polygon.Needles(orb.Polygon{{}}))
	u, err := polygon.Union(nil)
	assert.NoError(t, err)
	assert.Empty(t, u)
}

func ExampleRepair() {
	p := orb.Polygon{ring(0, 0, 200, 0, 200, 100, 80, 100, 80, 130, 80, 100, 0, 100)}
	fmt.Println(polygon.Faults(p)[1])
	parts, fixes, err := polygon.Repair(p, polygon.Options{})
	fmt.Println(len(parts), err)
	fmt.Printf("%s: %.1f %s\n", fixes[0].Kind, fixes[0].Value, fixes[0].Unit)
	// Output:
	// spike out and back: ring 0 vertex 4 at (80.000, 130.000), 30.000 m
	// 1 <nil>
	// spike dropped: 30.0 m
}

func ExampleInset() {
	in, err := polygon.Inset(orb.Polygon{rect(0, 0, 200, 100)}, 6)
	fmt.Printf("%.0f m2 %v\n", polygon.TotalAreaM2(in), err)
	// Output: 16544 m2 <nil>
}

func FuzzRepair(f *testing.F) {
	f.Add([]byte{0, 0, 9, 0, 9, 9, 0, 9}, []byte{2, 2, 5, 2, 5, 5})
	f.Add([]byte{0, 0, 9, 9, 9, 0, 0, 9}, []byte{})
	f.Add([]byte{0, 0, 4, 0, 4, 4, 0, 4, 0, 0, 2, 3, 3, 3}, []byte{0, 0, 1, 1, 2, 2})
	f.Fuzz(func(t *testing.T, outer, inner []byte) {
		p := orb.Polygon{grid(outer), grid(inner)}
		for _, o := range []polygon.Options{{}, {SplitCrossings: true}} {
			parts, _, err := polygon.Repair(p, o)
			if err != nil {
				continue
			}
			for _, q := range parts {
				if fs := polygon.Faults(q); len(fs) > 0 {
					t.Fatalf("%v: %v", p, fs)
				}
				if err := validate(q); err != nil {
					t.Fatalf("%v: %v", p, err)
				}
			}
		}
	})
}

// grid reads bytes as vertices, some on a coarse grid and some not.
func grid(b []byte) (r orb.Ring) {
	for i := 0; i+1 < min(len(b), 80); i += 2 {
		r = append(r, orb.Point{float64(b[i]&31) + float64(b[i]>>5)*0.13, float64(b[i+1]&31) + float64(b[i+1]>>5)*0.07})
	}
	if len(r) > 0 {
		r = append(r, r[0])
	}
	return r
}

func wave(n int) orb.Polygon {
	var r orb.Ring
	for i := range n {
		a := 2 * math.Pi * float64(i) / float64(n)
		d := 500 + 60*math.Sin(17*a) + 2*math.Sin(200*a)
		r = append(r, orb.Point{d * math.Cos(a), d * math.Sin(a)})
	}
	return orb.Polygon{append(r, r[0])}
}

func BenchmarkFaults(b *testing.B) {
	for _, n := range []int{10, 100, 1000, 100000} {
		p := wave(n)
		b.Run(fmt.Sprintf("n=%d", n), func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				if len(polygon.Faults(p)) > 0 {
					b.Fatal("faults")
				}
			}
		})
	}
}

func BenchmarkRepair(b *testing.B) {
	for _, n := range []int{26, 1000, 100000} {
		p := wave(n)
		b.Run(fmt.Sprintf("n=%d", n), func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				if _, _, err := polygon.Repair(p, polygon.Options{}); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

func BenchmarkInset(b *testing.B) {
	for _, n := range []int{26, 300} {
		p := wave(n)
		b.Run(fmt.Sprintf("n=%d", n), func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				if _, err := polygon.Inset(p, 6); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
