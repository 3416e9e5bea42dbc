package crs_test

import (
	"bytes"
	"encoding/binary"
	"math"
	"os"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hemrow/geo"
	"hemrow/geo/crs"
)

func readGrid(t testing.TB, name string) *crs.Grid {
	t.Helper()
	data, err := os.ReadFile("testdata/grid/" + name)
	require.NoError(t, err)
	g, err := crs.ReadNTv2(name, data)
	require.NoError(t, err)
	return g
}

// sameDeg is the last decimal that the fixture has been told apart by, and
// 0.1 mm on the ground.
const sameDeg = 1e-9

// Source: PROJ 9.1.1, cct +proj=hgridshift on the same files, which are pieces
// of two national grids, one in each byte order, and one with grids in grids
// (testdata/reference/make_grids.py).
func TestGridAgainstPROJ(t *testing.T) {
	plain := crs.Definition{Base: crs.Geographic{AngleDeg: 1, Ellipsoid: crs.Ellipsoid{SemiMajorM: 6378137, InvFlatteningRatio: 298.257222101}}}
	systems := map[string]*crs.System{}
	for _, name := range []string{"ntf.gsb", "nzgd.gsb", "nested.gsb"} {
		systems[name] = system(t, plain).WithGrid(readGrid(t, name))
	}
	var there, back float64
	rows := readTable(t, "../grid/shifted.csv")
	require.Len(t, rows, 120)
	for _, r := range rows {
		s := systems[r["grid"]]
		lon, lat := number(t, r["lon"]), number(t, r["lat"])
		got, ok := s.ToWGS84(crs.XY{X: lon, Y: lat})
		require.True(t, ok, r)
		there = max(there, math.Abs(got.LonDeg-number(t, r["there_lon"])), math.Abs(got.LatDeg-number(t, r["there_lat"])))
		xy, ok := s.FromWGS84(geo.LonLat{LonDeg: lon, LatDeg: lat})
		require.True(t, ok, r)
		back = max(back, math.Abs(xy.X-number(t, r["back_lon"])), math.Abs(xy.Y-number(t, r["back_lat"])))
	}
	t.Logf("worst there %.1e, back %.1e degrees", there, back)
	assert.Less(t, there, sameDeg)
	assert.Less(t, back, sameDeg)
}

func TestGridSystemsAndCover(t *testing.T) {
	g := readGrid(t, "nzgd.gsb")
	from, to := g.Systems()
	assert.Equal(t, "NZGD49", from)
	assert.Equal(t, "NZGD2000", to)
	assert.Equal(t, "nzgd.gsb", g.Name())
	for p, want := range map[geo.LonLat]bool{
		{LonDeg: 176.2, LatDeg: -40}:        true,
		{LonDeg: 177, LatDeg: -39.2}:        true,
		{LonDeg: 176.2 - 360, LatDeg: -40}:  true,
		{LonDeg: 176.19, LatDeg: -40}:       false,
		{LonDeg: 176.5, LatDeg: -39.19}:     false,
		{LonDeg: math.NaN(), LatDeg: -39.5}: false,
		{LonDeg: 176.5, LatDeg: math.NaN()}: false,
	} {
		assert.Equal(t, want, g.Covers(p), "%v", p)
	}
	d, err := crs.ByCode(4272)
	require.NoError(t, err)
	s := system(t, d).WithGrid(g)
	_, ok := s.ToWGS84(crs.XY{X: 170, Y: -45})
	assert.False(t, ok, "outside the grid")
	_, ok = s.FromWGS84(geo.LonLat{LonDeg: 170, LatDeg: -45})
	assert.False(t, ok, "outside the grid")
	n := d.GridNote(g, "a.shp")
	assert.Equal(t, geo.NoteDatumShift, n.Code)
	assert.Contains(t, n.Text, "nzgd.gsb (from NZGD49 to NZGD2000)")
}

// gridFile builds a grid of two by two nodes with the same shift everywhere.
func gridFile(order binary.ByteOrder, unit string, perDegree float64, change func(map[string]any)) []byte {
	v := map[string]any{
		"NUM_OREC": uint32(11), "NUM_SREC": uint32(11), "NUM_FILE": uint32(1), "GS_TYPE": unit, "SYSTEM_F": "A", "SYSTEM_T": "B",
		"SUB_NAME": "ONE", "PARENT": "NONE", "S_LAT": 45 * perDegree, "N_LAT": 46 * perDegree, "E_LONG": -11 * perDegree,
		"W_LONG": -10 * perDegree, "LAT_INC": perDegree, "LONG_INC": perDegree, "GS_COUNT": uint32(4),
	}
	if change != nil {
		change(v)
	}
	var b bytes.Buffer
	for _, key := range []string{
		"NUM_OREC", "NUM_SREC", "NUM_FILE", "GS_TYPE", "VERSION", "SYSTEM_F", "SYSTEM_T", "MAJOR_F", "MINOR_F", "MAJOR_T", "MINOR_T",
		"SUB_NAME", "PARENT", "CREATED", "UPDATED", "S_LAT", "N_LAT", "E_LONG", "W_LONG", "LAT_INC", "LONG_INC", "GS_COUNT",
	} {
		var rec [16]byte
		copy(rec[:8], key+"        ")
		switch x := v[key].(type) {
		case uint32:
			order.PutUint32(rec[8:], x)
		case float64:
			order.PutUint64(rec[8:], math.Float64bits(x))
		case string:
			copy(rec[8:], x+"        ")
		}
		b.Write(rec[:])
	}
	for range 4 {
		var rec [16]byte
		order.PutUint32(rec[:], math.Float32bits(float32(0.001*perDegree)))
		order.PutUint32(rec[4:], math.Float32bits(float32(-0.002*perDegree)))
		b.Write(rec[:])
	}
	return b.Bytes()
}

// A shift of 0.001 degrees north and 0.002 degrees east in every unit and byte
// order; the nodes are of single precision.
func TestGridUnitsAndOrders(t *testing.T) {
	d := crs.Definition{Base: crs.Geographic{AngleDeg: 1, Ellipsoid: crs.Ellipsoid{SemiMajorM: 6378137, InvFlatteningRatio: 298.257222101}}}
	for unit, per := range map[string]float64{"SECONDS": 3600, "MINUTES": 60, "DEGREES": 1} {
		for _, order := range []binary.ByteOrder{binary.LittleEndian, binary.BigEndian} {
			g, err := crs.ReadNTv2("a.gsb", gridFile(order, unit, per, nil))
			require.NoError(t, err)
			s := system(t, d).WithGrid(g)
			ll, ok := s.ToWGS84(crs.XY{X: 10.3, Y: 45.6})
			require.True(t, ok)
			assert.InDelta(t, 10.302, ll.LonDeg, sameDeg, unit)
			assert.InDelta(t, 45.601, ll.LatDeg, sameDeg, unit)
		}
	}
}

func TestGridRefused(t *testing.T) {
	le := binary.LittleEndian
	set := func(key string, v any) []byte {
		return gridFile(le, "SECONDS", 3600, func(m map[string]any) { m[key] = v })
	}
	whole := gridFile(le, "SECONDS", 3600, nil)
	for name, c := range map[string]struct {
		data []byte
		want string
	}{
		"nothing":        {nil, "does not begin with the record NUM_OREC"},
		"another file":   {bytes.Repeat([]byte("SQLite format 3 "), 40), "does not begin with the record NUM_OREC"},
		"half a header":  {whole[:100], "ends within its first header"},
		"no sub-grid":    {whole[:200], "sub-grid 1 of 1: the file ends before its header"},
		"cut nodes":      {whole[:len(whole)-1], `"ONE": the file ends within its nodes`},
		"strange unit":   {set("GS_TYPE", "METRES"), `in "METRES"`},
		"many sub-grids": {set("NUM_FILE", uint32(1<<31)), "where 1 to 4096 can be"},
		"zero step":      {set("LAT_INC", 0.0), "is not above zero"},
		"no step":        {set("LONG_INC", math.NaN()), "is not above zero"},
		"edges swapped":  {set("N_LAT", 40*3600.0), "edges of latitude make no sense"},
		"edges east":     {set("W_LONG", -12*3600.0), "edges of longitude make no sense"},
		"uneven":         {set("LAT_INC", 2222.0), "not a whole number of steps apart"},
		"huge":           {set("LAT_INC", 3600.0/(1<<40)), "too many"},
		"wrong count":    {set("GS_COUNT", uint32(5)), "counts 5 nodes, its edges make 2 rows of 2"},
	} {
		t.Run(name, func(t *testing.T) {
			_, err := crs.ReadNTv2("a.gsb", c.data)
			require.ErrorContains(t, err, "a.gsb: not a grid that can be used: ")
			assert.ErrorContains(t, err, c.want)
		})
	}
}

func FuzzReadNTv2(f *testing.F) {
	for _, name := range []string{"ntf.gsb", "nzgd.gsb", "nested.gsb"} {
		data, err := os.ReadFile("testdata/grid/" + name)
		require.NoError(f, err)
		f.Add(data)
	}
	f.Add(gridFile(binary.BigEndian, "MINUTES", 60, nil))
	d, err := crs.ByCode(4258)
	require.NoError(f, err)
	s, err := crs.New(d)
	require.NoError(f, err)
	f.Fuzz(func(t *testing.T, data []byte) {
		g, err := crs.ReadNTv2("a.gsb", data)
		if err != nil {
			return
		}
		with := s.WithGrid(g)
		for _, p := range []crs.XY{{X: 2.4, Y: 47}, {X: 9.5, Y: 46.5}, {X: 176.5, Y: -39.5}, {X: 10.5, Y: 45.5}} {
			if ll, ok := with.ToWGS84(p); ok && (ll.LonDeg != ll.LonDeg || ll.LatDeg != ll.LatDeg) {
				t.Fatalf("%v from %v", ll, p)
			}
			with.FromWGS84(geo.LonLat{LonDeg: p.X, LatDeg: p.Y})
		}
	})
}

func BenchmarkGrid(b *testing.B) {
	d, err := crs.ByCode(4272)
	require.NoError(b, err)
	s := system(b, d).WithGrid(readGrid(b, "nzgd.gsb"))
	b.ReportAllocs()
	for b.Loop() {
		if _, ok := s.ToWGS84(crs.XY{X: 176.5, Y: -39.5}); !ok {
			b.Fatal("outside")
		}
	}
}
