package crs_test

import (
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"hemrow/geo"
	"hemrow/geo/crs"
)

// agreeM is what is promised of every position against PROJ.
const agreeM = 1e-3

// Code, projection and datum shift together. Source: PROJ 9.1.1, cs2cs to the
// system's longitude and latitude, then cct with the operation by its EPSG
// code (testdata/reference/make_datum.py); the positions have 0.1 mm. The worst
// are those from Paris, whose meridian PROJ takes 0.25 mm off the dataset's.
func TestByCodeToWGS84AgainstPROJ(t *testing.T) {
	var worst float64
	systems, agreed := map[string]bool{}, map[string]bool{}
	for _, r := range readTable(t, "../datum.csv") {
		d, err := crs.ByCode(int(number(t, r["code"])))
		require.NoError(t, err)
		require.NotNil(t, d.Base.Shift, d.Name)
		assert.Equal(t, r["operation"] == "null", d.Base.Shift.Null, d.Name)
		if !d.Base.Shift.Null {
			assert.Equal(t, r["operation"], d.Base.Shift.Source)
		}
		s := system(t, d)
		p := crs.XY{X: number(t, r["x"]), Y: number(t, r["y"])}
		got, ok := s.ToWGS84(p)
		require.True(t, ok, d.Name)
		off := groundM(got, geo.LonLat{LonDeg: number(t, r["lon_deg"]), LatDeg: number(t, r["lat_deg"])})
		assert.Less(t, off, agreeM, "%s %v", d.Name, p)
		worst = max(worst, off)
		back, ok := s.FromWGS84(got)
		require.True(t, ok)
		assert.Less(t, math.Hypot(back.X-p.X, back.Y-p.Y)*d.UnitM, 1e-6, "%s and back", d.Name)
		systems[d.Name] = true
		if number(t, r["proj_default_m"]) < agreeM {
			agreed[d.Name] = true
		}
	}
	t.Logf("worst of %d systems: %.1e m; of %d the set is also the one that PROJ takes by itself", len(systems), worst, len(agreed))
	assert.GreaterOrEqual(t, len(systems), 84)
	assert.GreaterOrEqual(t, len(agreed), 65)
}

// The choice for a place is PROJ's at these. Source: PROJ 9.1.1, cs2cs to
// EPSG:4326. Near a border the two may differ.
func TestNearAgainstPROJ(t *testing.T) {
	same := 0
	for _, r := range readTable(t, "../near.csv") {
		d, err := crs.ByCode(int(number(t, r["code"])))
		require.NoError(t, err)
		p := crs.XY{X: number(t, r["x"]), Y: number(t, r["y"])}
		first, ok := system(t, d).ToWGS84(p)
		require.True(t, ok)
		near := d.Near(first)
		got, ok := system(t, near).ToWGS84(p)
		require.True(t, ok)
		off := groundM(got, geo.LonLat{LonDeg: number(t, r["lon_deg"]), LatDeg: number(t, r["lat_deg"])})
		source := "none"
		if near.Base.Shift != nil {
			source = near.Base.Shift.Source
		}
		t.Logf("%-45s %s, %s: %.1e m", d.Name, first, source, off)
		if off < agreeM {
			same++
			continue
		}
		// PROJ loses the shift of the first, counted from Rome; the second has a
		// set of a neighbour whose box reaches over the border; of the third's
		// PROJ looks at the one for all of Austria, not at Styria's.
		assert.Contains(t, []string{"Monte Mario (Rome) / Italy zone 1", "MGI 1901 / Balkans zone 5", "MGI (Ferro) / Austria zone M34"}, d.Name)
	}
	assert.Equal(t, 33, same)
}

// Ferro is 13.98" farther west for MGI 1901 than for MGI, and the sets of both
// serve longitudes that count from it. Source: PROJ 9.1.1, cs2cs from EPSG:4805
// to EPSG:3906, then cct with EPSG:9486.
func TestNearTurnsLongitudesFirst(t *testing.T) {
	d, err := crs.ByCode(4805)
	require.NoError(t, err)
	d = d.Near(geo.LonLat{LonDeg: 20.4, LatDeg: 44.8})
	assert.Equal(t, "EPSG:9486", d.Base.Shift.Source)
	assert.InDelta(t, 13.98, d.Base.Shift.LonTurnSec, 1e-9)
	got, ok := system(t, d).ToWGS84(crs.XY{X: 38.0681934005, Y: 44.7999411635})
	require.True(t, ok)
	assert.Less(t, groundM(got, geo.LonLat{LonDeg: 20.400024292490, LatDeg: 44.799958647309}), agreeM)
}

func TestNearLeavesAlone(t *testing.T) {
	for _, code := range []int{4326, 25832, 2229} {
		d, err := crs.ByCode(code)
		require.NoError(t, err)
		assert.Equal(t, d, d.Near(geo.LonLat{LonDeg: 9, LatDeg: 48}))
	}
	d, err := crs.ByCode(5514)
	require.NoError(t, err)
	away := d.Near(geo.LonLat{LonDeg: -70, LatDeg: -30})
	assert.Equal(t, d.Base.Shift.Helmert, away.Base.Shift.Helmert, "outside every area")
	assert.False(t, d.Base.Shift.Away)
	own := *d.Base.Shift
	own.Source = "TOWGS84 of the file"
	d.Base.Shift = &own
	assert.Equal(t, d, d.Near(geo.LonLat{LonDeg: 19.6, LatDeg: 48.7}), "the file's own shift stays")
}

func TestDatumNotes(t *testing.T) {
	lost := crs.Definition{Base: crs.Geographic{Datum: "D_Nowhere", AngleDeg: 1, Ellipsoid: crs.Ellipsoid{SemiMajorM: 6377397.155, InvFlatteningRatio: 299.1528128}}}
	own := lost
	own.Base.Shift = &crs.Shift{Helmert: crs.Helmert{DXM: 500}, Source: "TOWGS84 of the file"}
	byCode := func(code int) crs.Definition {
		d, err := crs.ByCode(code)
		require.NoError(t, err)
		return d
	}
	for name, c := range map[string]struct {
		d        crs.Definition
		codes    []geo.Code
		severity geo.Severity
		text     string
	}{
		"WGS 84":           {d: byCode(32632)},
		"shifted":          {byCode(27700), []geo.Code{geo.NoteDatumShift}, geo.Info, "EPSG:1314, good to about 2 m"},
		"shifted coarsely": {byCode(5514), []geo.Code{geo.NoteDatumShift}, geo.Caution, "good to about 6 m"},
		"shifted by file":  {own, []geo.Code{geo.NoteDatumShift}, geo.Caution, "accuracy is not stated"},
		"null":             {byCode(25832), []geo.Code{geo.NoteDatumNull}, geo.Info, "up to about 2 m"},
		"lost":             {lost, []geo.Code{geo.NoteDatumLost}, geo.Caution, "about 170 m off, at worst some 480 m"},
		"withdrawn":        {byCode(26591), []geo.Code{geo.NoteWithdrawn, geo.NoteDatumShift}, geo.Caution, "EPSG:"},
		"web":              {byCode(3857), []geo.Code{geo.NoteWebMercator}, geo.Info, "never measured"},
	} {
		t.Run(name, func(t *testing.T) {
			notes := c.d.DatumNotes("a.shp")
			require.Len(t, notes, len(c.codes))
			for i, n := range notes {
				assert.Equal(t, c.codes[i], n.Code)
				assert.Equal(t, c.severity, n.Severity)
				assert.Equal(t, "a.shp", n.Place)
				assert.Contains(t, n.Text, c.text)
				assert.NotEmpty(t, n.Hint)
			}
		})
	}
}

// How far sets disagree at a place. Source: PROJ 9.1.1, cct with each set
// (testdata/reference/make_datum.py). An area that holds the place on WGS 84
// may hold it by each of the sets or by none; at these it is one or the other.
func TestNearSaysHowSetsDisagree(t *testing.T) {
	type set struct {
		accuracyM float64
		here      bool
		at        geo.LonLat
	}
	places := map[int]map[string]set{}
	for _, r := range readTable(t, "../rivals.csv") {
		code := int(number(t, r["code"]))
		if places[code] == nil {
			places[code] = map[string]set{}
		}
		places[code][r["operation"]] = set{
			number(t, r["accuracy_m"]), r["here"] == "1",
			geo.LonLat{LonDeg: number(t, r["lon_deg"]), LatDeg: number(t, r["lat_deg"])},
		}
	}
	for _, c := range []struct {
		name     string
		code     int
		source   string
		away     bool
		text     string
		severity geo.Severity
	}{
		{"Olomouc, by the box of Slovakia", 4156, "EPSG:4836", false, "good to about 1 m;", geo.Info},
		{"Zagreb", 3906, "EPSG:8688", false, "stated to be as good puts the field 1.1 m elsewhere", geo.Info},
		{"Wales", 4277, "EPSG:1314", false, "good to about 2 m;", geo.Info},
		{"west of the Tarim basin", 4214, "EPSG:15921", true, "made for another area (longitude 77.45 to 88, ", geo.Caution},
		{"North Sea", 4314, "EPSG:1777", true, "other sets of the datum put the field about 2.4 m elsewhere", geo.Caution},
	} {
		t.Run(c.name, func(t *testing.T) {
			d, err := crs.ByCode(c.code)
			require.NoError(t, err)
			if c.code == 4214 { // of the zone whose own set it is
				zone, err := crs.ByCode(21413)
				require.NoError(t, err)
				d.Base.Shift = zone.Base.Shift
			}
			chosen := places[c.code][c.source]
			s := d.Near(chosen.at).Base.Shift
			require.Equal(t, c.source, s.Source)
			assert.Equal(t, c.away, s.Away)
			var offs []float64
			for source, other := range places[c.code] {
				assert.False(t, c.away && other.here, source)
				if source != c.source && (c.away || other.here && other.accuracyM == chosen.accuracyM) {
					offs = append(offs, groundM(chosen.at, other.at))
				}
			}
			require.NotEmpty(t, append(offs, 0))
			slices.Sort(offs)
			want := 0.0
			if n := len(offs); c.away {
				want = offs[n/2]
				assert.Zero(t, s.AccuracyM)
			} else if n > 0 && offs[n-1] > chosen.accuracyM {
				want = offs[n-1]
			}
			assert.InDelta(t, want, s.SpreadM, 0.01*want+agreeM)
			d.Base.Shift = s
			n := d.DatumNotes("a.shp")[0]
			assert.Contains(t, n.Text, c.text)
			assert.Equal(t, c.severity, n.Severity)
		})
	}
}

// A shift that is the only one of its datum has nothing to be compared with.
func TestNearOfALoneSetAway(t *testing.T) {
	d, err := crs.ByCode(2100)
	require.NoError(t, err)
	n := d.Near(geo.LonLat{LonDeg: 15, LatDeg: 60}).DatumNotes("a.shp")[0]
	assert.Contains(t, n.Text, "how far off it is here is not known")
	assert.Equal(t, geo.Caution, n.Severity)
	assert.Empty(t, n.Unit)
}

// Records that the EPSG dataset withdrew, and what it names instead (v10.076);
// for the second that is 3907, itself withdrawn for 8677.
func TestWithdrawnRecords(t *testing.T) {
	for _, c := range []struct {
		code       int
		replacedBy []int
		text       string
	}{
		{26591, []int{3003}, "EPSG withdrew the record EPSG:26591 Monte Mario (Rome) / Italy zone 1, mostly a sign of an error in it; " +
			"it was read as it stands; in its place stands EPSG:3003 Monte Mario / Italy zone 1"},
		{31275, []int{8677}, "in its place stands EPSG:8677 MGI 1901 / Balkans zone 5"},
		{3038, nil, "it was read as it stands"},
		{25832, nil, ""},
	} {
		d, err := crs.ByCode(c.code)
		require.NoError(t, err)
		assert.Equal(t, c.text != "", d.Withdrawn, c.code)
		assert.Equal(t, c.replacedBy, d.ReplacedBy, c.code)
		n := d.DatumNotes("a.shp")[0]
		assert.Equal(t, c.text != "", n.Code == geo.NoteWithdrawn)
		if c.text != "" {
			assert.True(t, strings.HasSuffix(n.Text, c.text), n.Text)
			assert.Equal(t, geo.Caution, n.Severity)
			assert.NotEmpty(t, n.Hint)
		}
	}
}

// Krovak's southing and westing stored in this order fall outside the area;
// turned round they are the place of the system that counts east and north.
// Source: PROJ 9.1.1, cs2cs of EPSG:5514 (testdata/near.csv).
func TestKrovakSouthingFirst(t *testing.T) {
	want := geo.LonLat{LonDeg: 17.099999966385, LatDeg: 48.300000044573}
	const southing, westing = 1263515.2329, 572556.4889
	for _, code := range []int{5513, 2065} {
		d, err := crs.ByCode(code)
		require.NoError(t, err)
		s := system(t, d.Near(want))
		ll, ok := s.ToWGS84(crs.XY{X: southing, Y: westing})
		assert.False(t, ok && d.Bounds.Contains(ll), d.Name)
		ll, ok = s.ToWGS84(crs.XY{X: westing, Y: southing})
		require.True(t, ok)
		assert.True(t, d.Bounds.Contains(ll), d.Name)
		assert.Less(t, groundM(ll, want), agreeM, d.Name)
	}
}

// What the shift carries there it carries back, on every datum of the table.
func TestShiftRoundTrip(t *testing.T) {
	codes := []int{4805, 5132, 4277, 4289, 4314, 4156, 4230, 4267, 4272, 4202, 4121, 4301}
	rapid.Check(t, func(t *rapid.T) {
		d, err := crs.ByCode(rapid.SampledFrom(codes).Draw(t, "code"))
		require.NoError(t, err)
		s, err := crs.New(d)
		require.NoError(t, err)
		p := crs.XY{X: rapid.Float64Range(-180, 180).Draw(t, "lon"), Y: rapid.Float64Range(-89.9, 89.9).Draw(t, "lat")}
		ll, ok := s.ToWGS84(p)
		require.True(t, ok)
		q, ok := s.FromWGS84(ll)
		require.True(t, ok)
		assert.InDelta(t, 0, math.Remainder(q.X-p.X, 360), 1e-10/math.Cos(p.Y*math.Pi/180))
		assert.InDelta(t, p.Y, q.Y, 1e-10)
	})
}
