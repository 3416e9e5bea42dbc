package crs_test

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hemrow/geo"
	"hemrow/geo/crs"
)

func TestParse(t *testing.T) {
	for text, want := range map[string]int{
		"EPSG:25832":                    25832,
		"epsg 25832":                    25832,
		" 25832 ":                       25832,
		"\ufeffEPSG:25832":              25832,
		"urn:ogc:def:crs:EPSG::25832":   25832,
		"urn:ogc:def:crs:EPSG:9.8:2154": 2154,
		"http://www.opengis.net/def/crs/EPSG/0/25832":   25832,
		"http://www.opengis.net/gml/srs/epsg.xml#25832": 0, // names EPSG only in a file's name
		"OGC:CRS84":                                    4326,
		"urn:ogc:def:crs:OGC:1.3:CRS84":                4326,
		"http://www.opengis.net/def/crs/OGC/1.3/CRS84": 4326,
		"WGS84":                     4326,
		"WGS 84":                    4326,
		"EPSG:900913":               3857,
		"EPSG:102100":               3857,
		"EPSG:4979":                 4326,
		"EPSG:5555":                 25832, // with heights
		utm32:                       25832,
		"EPSG:1":                    0,
		"EPSG:":                     0,
		"EPSG:-3":                   0,
		"IGNF:LAMB93":               0,
		"":                          0,
		"::":                        0,
		"Lambert":                   0,
		"+proj=utm +zone=32":        0,
		`{"type":"ProjectedCRS"}`:   0,
		"EPSG:99999999999999999999": 0,
	} {
		d, err := crs.Parse(text)
		if want == 0 {
			assert.ErrorContains(t, err, "EPSG", text)
			continue
		}
		require.NoError(t, err, text)
		assert.Equal(t, want, d.Code, text)
	}
	d, err := crs.Parse("OGC:CRS84")
	require.NoError(t, err)
	assert.False(t, d.NorthFirst, "CRS84 has longitude first")
	d, err = crs.ByCode(5555)
	require.NoError(t, err)
	assert.Equal(t, 1.0, d.VerticalUnitM)
}

// Axis orders as the EPSG dataset has them (v10.076; projinfo of PROJ 9.1.1).
func TestAxes(t *testing.T) {
	north := map[int]bool{2193: true, 3006: true, 31467: true, 2180: true, 6677: true, 22185: true, 5513: true, 4326: true, 32661: true}
	for _, code := range []int{2193, 3006, 31467, 2180, 6677, 22185, 5513, 4326, 32661, 25832, 2154, 27700, 28992, 2056, 5514, 2048, 3031} {
		d, err := crs.ByCode(code)
		require.NoError(t, err)
		assert.Equal(t, north[code], d.NorthFirst, code)
		assert.Equal(t, code == 2048 || code == 5513, d.WestSouth, code)
	}
}

func TestCandidates(t *testing.T) {
	codes := func(ds []crs.Definition) (out []int) {
		for _, d := range ds {
			out = append(out, d.Code)
		}
		return out
	}
	for name, c := range map[string]struct {
		x, y float64
		near *geo.LonLat
		want int
	}{
		"Netherlands": {150000, 450000, &geo.LonLat{LonDeg: 5.3, LatDeg: 52}, 28992},
		"Slovakia":    {-500000, -1200000, &geo.LonLat{LonDeg: 18, LatDeg: 48.8}, 5514},
		"Denmark":     {550000, 6200000, &geo.LonLat{LonDeg: 9.8, LatDeg: 55.9}, 25832},
		"degrees":     {17.1, 48.2, nil, 4326},
		"alone":       {2600000, 1200000, nil, 2056},
	} {
		got := crs.Candidates(c.x, c.y, c.near)
		assert.LessOrEqual(t, len(got), 8)
		assert.Contains(t, codes(got), c.want, name)
	}
	assert.Empty(t, crs.Candidates(1e12, 1e12, nil))
}

// The figures are those of cs2cs, PROJ 9.1.1, with EPSG:4833.
func ExampleByCode() {
	d, err := crs.ByCode(28992)
	if err != nil {
		fmt.Println(err)
		return
	}
	s, err := crs.New(d)
	if err != nil {
		fmt.Println(err)
		return
	}
	ll, _ := s.ToWGS84(crs.XY{X: 155000, Y: 463000})
	fmt.Println(d.Name, ll)
	fmt.Println(d.DatumNotes("")[0].Text)
	// Output:
	// Amersfoort / RD New 5.3872035, 52.1551723
	// positions on the datum Amersfoort were shifted to WGS84 by EPSG:4833, good to about 1 m; lengths and areas are exact all the same
}

func BenchmarkByCodeFirst(b *testing.B) {
	b.ReportAllocs()
	for b.Loop() {
		if n, err := crs.ReadTableAgain(); err != nil || n == 0 {
			b.Fatal(n, err)
		}
	}
}

func BenchmarkByCode(b *testing.B) {
	b.ReportAllocs()
	for b.Loop() {
		if _, err := crs.ByCode(25832); err != nil {
			b.Fatal(err)
		}
	}
}
