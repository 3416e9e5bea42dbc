package wkt_test

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"testing"

	"github.com/peterstace/simplefeatures/geom"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"hemrow/geo/format"
	"hemrow/geo/format/wkt"
)

// coord is a finite position; heights are never 0 or beyond what counts as one.
func coord(t *rapid.T, z bool) format.Coord {
	c := format.Coord{X: rapid.Float64().Draw(t, "x"), Y: rapid.Float64Range(-1e7, 1e7).Draw(t, "y"), Z: math.NaN()}
	if z {
		c.Z = rapid.Float64Range(0.001, 9000).Draw(t, "z")
	}
	return c
}

func coords(t *rapid.T, z bool) []format.Coord {
	out := make([]format.Coord, rapid.IntRange(2, 6).Draw(t, "vertices"))
	for i := range out {
		out[i] = coord(t, z)
	}
	return out
}

// anyFeature has points, lines and polygons, all with heights or all without.
func anyFeature(t *rapid.T) (f format.Feature, z bool) {
	z = rapid.Bool().Draw(t, "z")
	for range rapid.IntRange(0, 3).Draw(t, "points") {
		f.Points = append(f.Points, coord(t, z))
	}
	for range rapid.IntRange(0, 3).Draw(t, "lines") {
		f.Lines = append(f.Lines, coords(t, z))
	}
	for range rapid.IntRange(0, 3).Draw(t, "polygons") {
		var p format.Polygon
		for range rapid.IntRange(1, 3).Draw(t, "rings") {
			ring := coords(t, z)
			p = append(p, append(ring, ring[0]))
		}
		f.Polygons = append(f.Polygons, p)
	}
	return f, z
}

func list[T any](items []T, write func(T) string) string {
	var words []string
	for _, item := range items {
		words = append(words, write(item))
	}
	if len(words) == 0 {
		return "EMPTY"
	}
	return "(" + strings.Join(words, ",") + ")"
}

func writePosition(c format.Coord) string {
	out := strconv.FormatFloat(c.X, 'g', -1, 64) + " " + strconv.FormatFloat(c.Y, 'f', -1, 64)
	if c.HasZ() {
		out += " " + strconv.FormatFloat(c.Z, 'f', -1, 64)
	}
	return out
}

func writePath(p []format.Coord) string { return list(p, writePosition) }

func writePolygon(p format.Polygon) string {
	return list(p, func(r format.Ring) string { return writePath(r) })
}

// write puts a feature into one collection.
func write(f format.Feature, z bool) string {
	tag := " "
	if z {
		tag = " Z "
	}
	return "GEOMETRYCOLLECTION" + tag + "(MULTIPOINT" + tag + list(f.Points, func(c format.Coord) string { return "(" + writePosition(c) + ")" }) +
		", MULTILINESTRING" + tag + list(f.Lines, writePath) + ", MULTIPOLYGON" + tag + list(f.Polygons, writePolygon) + ")"
}

// What is written is read again to the last bit.
func TestWriteRead(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f, z := anyFeature(t)
		got, err := wkt.Parse(write(f, z))
		require.NoError(t, err)
		require.Equal(t, plainText(f), plainText(got))
	})
}

// of turns a geometry of the reference library into a feature.
func of(g geom.Geometry, f *format.Feature) {
	put := func(c geom.Coordinates) format.Coord {
		if !c.Type.Is3D() {
			c.Z = math.NaN()
		}
		return format.Coord{X: c.X, Y: c.Y, Z: c.Z}
	}
	path := func(s geom.Sequence) (out []format.Coord) {
		for i := range s.Length() {
			out = append(out, put(s.Get(i)))
		}
		return out
	}
	polygon := func(p geom.Polygon) {
		var rings format.Polygon
		for _, r := range p.DumpRings() {
			rings = append(rings, path(r.Coordinates()))
		}
		if len(rings) > 0 {
			f.Polygons = append(f.Polygons, rings)
		}
	}
	switch g.Type() {
	case geom.TypePoint:
		if c, ok := g.MustAsPoint().Coordinates(); ok {
			f.Points = append(f.Points, put(c))
		}
	case geom.TypeLineString:
		if s := g.MustAsLineString().Coordinates(); s.Length() > 0 {
			f.Lines = append(f.Lines, path(s))
		}
	case geom.TypePolygon:
		polygon(g.MustAsPolygon())
	default:
		for _, part := range g.Dump() {
			of(part, f)
		}
	}
}

// The reference is simplefeatures v0.59.0, geom.UnmarshalWKT without
// validation.
func TestAgainstReference(t *testing.T) {
	compare := func(t require.TestingT, text string) {
		g, err := geom.UnmarshalWKT(text, geom.NoValidate{})
		require.NoError(t, err, text)
		var want format.Feature
		of(g, &want)
		got, err := wkt.Parse(text)
		require.NoError(t, err, text)
		require.Equal(t, plainText(want), plainText(got), text)
	}
	t.Run("random", func(t *testing.T) {
		rapid.Check(t, func(t *rapid.T) { compare(t, write(anyFeature(t))) })
	})
	// every kind alone, written by the reference, in its four numbers of axes
	for _, kind := range []string{
		"POINT%[1]s(%[2]s)", "LINESTRING%[1]s(%[2]s,%[3]s)",
		"POLYGON%[1]s((%[2]s,%[3]s,%[4]s,%[2]s),(%[5]s,%[6]s,%[7]s,%[5]s))", "MULTIPOINT%[1]s(%[2]s,%[3]s)",
		"MULTILINESTRING%[1]s((%[2]s,%[3]s),(%[4]s,%[5]s))",
		"MULTIPOLYGON%[1]s(((%[2]s,%[3]s,%[4]s,%[2]s)),((%[5]s,%[6]s,%[7]s,%[5]s)))",
		"GEOMETRYCOLLECTION%[1]s(POINT%[1]s(%[2]s),LINESTRING%[1]s(%[3]s,%[4]s))",
	} {
		for tag, axes := range map[string]int{" ": 2, " Z": 3, " M": 3, " ZM": 4} {
			args := []any{tag}
			for i := range 6 {
				var words []string
				for k := range axes {
					words = append(words, fmt.Sprint(float64(17*i+k)+0.25))
				}
				args = append(args, strings.Join(words, " "))
			}
			text := fmt.Sprintf(kind, args...)
			t.Run(text[:strings.IndexByte(text, '(')], func(t *testing.T) {
				g, err := geom.UnmarshalWKT(text, geom.NoValidate{})
				require.NoError(t, err, text)
				compare(t, text)
				compare(t, g.AsText())
			})
		}
	}
}
