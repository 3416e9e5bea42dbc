package wkt_test

import (
	"errors"
	"strings"
	"testing"

	"github.com/peterstace/simplefeatures/geom"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hemrow/geo"
	"hemrow/geo/format"
	"hemrow/geo/format/wkt"
)

var seeds = []string{
	"", "POINT (1 2)", "POINT EMPTY", "SRID=25832;POINT Z (1 2 3)", "LINESTRING ZM (1 2 3 4,5 6 7 8)",
	"POLYGON ((0 0,2 2,2 0,0 2,0 0))", "POLYGON ((0 0,9 0,9 5,0 0),(1 1,2 1,2 2,1 1))", "POLYGON (EMPTY,(1 2))",
	"MULTIPOINT (1 2,EMPTY,(3 4))", "MULTIPOLYGON (((0 0,9 0,9 5,0 0)),EMPTY)", "POINT (NaN 1e999)",
	"GEOMETRYCOLLECTION (POINT (1 2),GEOMETRYCOLLECTION (LINESTRING (1 2,3 4)))", "LINESTRING (1 2 -9999,3 4 0,5 6)",
	"POINT (1 2)\n# x\nPOINT (3 4);", "\uFEFFPOINT (1 2)", "P\x00O\x00", "POLYGON ((", "TIN Z EMPTY", "POINT (+1. -.5e-2)",
}

// FuzzParse: nothing panics; every refusal says what is wrong and where; what
// the reference library reads is read to the same; what is read can be written
// and read again to the same.
func FuzzParse(f *testing.F) {
	for _, s := range seeds {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		got, found, err := wkt.ParseFound(text)
		if err != nil {
			var e *geo.InputError
			require.ErrorAs(t, err, &e)
			assert.NotEmpty(t, e.Problem)
			assert.Positive(t, e.Line)
			return
		}
		if found == (wkt.Found{}) {
			if g, err := geom.UnmarshalWKT(text, geom.NoValidate{}); err == nil {
				var want format.Feature
				of(g, &want)
				require.Equal(t, plainText(want), plainText(got))
			}
		}
		if found.NoHeights+found.ZeroHeights+found.Measures+found.Empty > 0 {
			return
		}
		hasZ := false
		for _, c := range all(got) {
			hasZ = hasZ || c.HasZ()
		}
		again, err := wkt.Parse(write(got, hasZ))
		require.NoError(t, err)
		require.Equal(t, plainText(got), plainText(again))
	})
}

func all(f format.Feature) []format.Coord {
	out := append([]format.Coord{}, f.Points...)
	for _, l := range f.Lines {
		out = append(out, l...)
	}
	for _, p := range f.Polygons {
		for _, r := range p {
			out = append(out, r...)
		}
	}
	return out
}

// FuzzRead: nothing panics, and a file of one geometry is that geometry.
func FuzzRead(f *testing.F) {
	for _, s := range seeds {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		file, err := wkt.Read("x", strings.NewReader(text))
		if err != nil {
			var e *geo.InputError
			require.True(t, errors.As(err, &e))
			assert.Equal(t, "x", e.File)
			return
		}
		require.NotEmpty(t, file.Features)
		for i, one := range file.Features {
			require.NotEmpty(t, all(one))
			require.Positive(t, one.Line)
			if i > 0 {
				require.Greater(t, one.Number, file.Features[i-1].Number)
			}
		}
		if one, err := wkt.Parse(text); err == nil {
			require.Len(t, file.Features, 1)
			require.Equal(t, plainText(one), plainText(file.Features[0]))
		}
	})
}

func BenchmarkRead(b *testing.B) {
	for name, n := range map[string]int{"n=10": 10, "n=1000": 1000} {
		text := strings.Repeat("POLYGON ((1929078.144 5582610.153 174.216, 1929133.654 5582626.510 177.929, 1929118.867 5582619.608 178.102, 1929078.144 5582610.153 174.216))\n", n)
		b.Run(name, func(b *testing.B) {
			b.SetBytes(int64(len(text)))
			b.ReportAllocs()
			for b.Loop() {
				if _, err := wkt.Read("x", strings.NewReader(text)); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
