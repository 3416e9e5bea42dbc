package wkt_test

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hemrow/geo"
	"hemrow/geo/format"
	"hemrow/geo/format/wkt"
)

var nan = math.NaN()

// plainText prints shapes so that tests can compare them, NaN included.
func plainText(f format.Feature) string {
	return fmt.Sprint("points ", f.Points, " lines ", f.Lines, " polygons ", f.Polygons)
}

func at(x, y, z float64) format.Coord { return format.Coord{X: x, Y: y, Z: z} }

// The examples are those of OGC 06-103r4 (2011), section 7.2.6, table 6 (from
// memory), and forms common in the trade.
func TestParse(t *testing.T) {
	square := format.Ring{at(0, 0, nan), at(9, 0, nan), at(9, 5, nan), at(0, 0, nan)}
	cases := []struct {
		name, text string
		want       format.Feature
	}{
		{"point", "POINT (10 20)", format.Feature{Points: []format.Coord{at(10, 20, nan)}}},
		{"no blanks", "POINT(10 20)", format.Feature{Points: []format.Coord{at(10, 20, nan)}}},
		{"lower case, many blanks", " point\r\n ( 10\t20 ) \n", format.Feature{Points: []format.Coord{at(10, 20, nan)}}},
		{"numbers of every form", "LINESTRING (+1. -.5, 1e3 2.5E-1)", format.Feature{Lines: [][]format.Coord{{at(1, -.5, nan), at(1000, .25, nan)}}}},
		{"Z", "POINT Z (1 2 3)", format.Feature{Points: []format.Coord{at(1, 2, 3)}}},
		{"Z joined", "POINTZ(1 2 3)", format.Feature{Points: []format.Coord{at(1, 2, 3)}}},
		{"Z without tag", "POINT(1 2 3)", format.Feature{Points: []format.Coord{at(1, 2, 3)}}},
		{"M", "POINT M (1 2 3)", format.Feature{Points: []format.Coord{at(1, 2, nan)}}},
		{"ZM", "POINT ZM (1 2 3 4)", format.Feature{Points: []format.Coord{at(1, 2, 3)}}},
		{"ZM without tag", "POINT (1 2 3 4)", format.Feature{Points: []format.Coord{at(1, 2, 3)}}},
		{"polygon", "POLYGON ((0 0, 9 0, 9 5, 0 0))", format.Feature{Polygons: []format.Polygon{{square}}}},
		{
			"hole", "POLYGON ((0 0,9 0,9 5,0 0),(1 1,2 1,2 2,1 1))",
			format.Feature{Polygons: []format.Polygon{{square, {at(1, 1, nan), at(2, 1, nan), at(2, 2, nan), at(1, 1, nan)}}}},
		},
		{"unclosed stays so", "POLYGON ((0 0,9 0,9 5))", format.Feature{Polygons: []format.Polygon{{square[:3]}}}},
		{"multipoint", "MULTIPOINT ((1 2), (3 4))", format.Feature{Points: []format.Coord{at(1, 2, nan), at(3, 4, nan)}}},
		{"multipoint, old form", "MULTIPOINT (1 2, 3 4)", format.Feature{Points: []format.Coord{at(1, 2, nan), at(3, 4, nan)}}},
		{"multipoint with an empty one", "MULTIPOINT (EMPTY, (3 4))", format.Feature{Points: []format.Coord{at(3, 4, nan)}}},
		{"multilinestring", "MULTILINESTRING ((1 2,3 4),EMPTY,(5 6,7 8))", format.Feature{Lines: [][]format.Coord{{at(1, 2, nan), at(3, 4, nan)}, {at(5, 6, nan), at(7, 8, nan)}}}},
		{"multipolygon", "MULTIPOLYGON (((0 0,9 0,9 5,0 0)),EMPTY,((0 0,9 0,9 5,0 0)))", format.Feature{Polygons: []format.Polygon{{square}, {square}}}},
		{
			"collection", "GEOMETRYCOLLECTION (POINT (1 2), LINESTRING EMPTY, GEOMETRYCOLLECTION (POLYGON ((0 0,9 0,9 5,0 0))))",
			format.Feature{Points: []format.Coord{at(1, 2, nan)}, Polygons: []format.Polygon{{square}}},
		},
		{"tag of the collection", "GEOMETRYCOLLECTION M (POINT (1 2 3))", format.Feature{Points: []format.Coord{at(1, 2, nan)}}},
		{"empty", "POLYGON EMPTY", format.Feature{}},
		{"empty with tag", "MULTIPOLYGON ZM EMPTY", format.Feature{}},
		{"empty ring", "POLYGON (EMPTY)", format.Feature{}},
		{"empty hole", "POLYGON ((0 0,9 0,9 5,0 0), EMPTY)", format.Feature{Polygons: []format.Polygon{{square}}}},
		{"SRID", "srid = 25832 ; POINT(1 2)", format.Feature{Points: []format.Coord{at(1, 2, nan)}}},
		{"semicolon at the end", "POINT(1 2);", format.Feature{Points: []format.Coord{at(1, 2, nan)}}},
		{"heights of 0 among others", "LINESTRING(1 2 0,3 4 5)", format.Feature{Lines: [][]format.Coord{{at(1, 2, 0), at(3, 4, 5)}}}},
		{"heights of 0 only", "LINESTRING(1 2 0,3 4 -0.0)", format.Feature{Lines: [][]format.Coord{{at(1, 2, nan), at(3, 4, nan)}}}},
		{"heights that are none", "LINESTRING(1 2 -9999,3 4 NaN,5 6,7 8 9)", format.Feature{Lines: [][]format.Coord{{at(1, 2, nan), at(3, 4, nan), at(5, 6, nan), at(7, 8, 9)}}}},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			got, err := wkt.Parse(c.text)
			require.NoError(t, err)
			assert.Equal(t, plainText(c.want), plainText(got))
		})
	}
}

func TestParseFound(t *testing.T) {
	cases := []struct {
		name, text string
		want       wkt.Found
	}{
		{"nothing", "POINT(1 2)", wkt.Found{}},
		{"code", "SRID=2193;POINT(1 2)", wkt.Found{Code: 2193}},
		{"empty", "MULTIPOLYGON(EMPTY,EMPTY)", wkt.Found{Empty: 2}},
		{"measures", "LINESTRING ZM(1 2 3 4,5 6 7 8)", wkt.Found{Measures: 2}},
		{"heights missing", "LINESTRING(1 2 3,4 5,6 7 -9999)", wkt.Found{NoHeights: 2}},
		{"heights of 0", "LINESTRING(1 2 0,4 5 0)", wkt.Found{ZeroHeights: 2}},
		{"heights beyond", "LINESTRING(1 2 -3.4e38,4 5 7)", wkt.Found{NoHeights: 1}},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			_, got, err := wkt.ParseFound(c.text)
			require.NoError(t, err)
			assert.Equal(t, c.want, got)
		})
	}
}

func TestParseRefuses(t *testing.T) {
	cases := []struct {
		name, text string
		words      []string
	}{
		{"nothing", "  ", []string{"no geometry"}},
		{"no geometry", "FIELD (1 2)", []string{"column 1", `"FIELD"`, "where a geometry"}},
		{"misspelt", "POLYGN ((1 2))", []string{"column 1", `"POLYGN"`}},
		{"wrong tag", "POINTMZ (1 2 3 4)", []string{"column 1", `"POINTMZ"`}},
		{"curve", "CURVEPOLYGON(CIRCULARSTRING(0 0,1 1,2 0))", []string{"CURVEPOLYGON holds curves"}},
		{"surface", "TIN Z (((0 0 0,0 0 1,0 1 0,0 0 0)))", []string{"TIN is a surface"}},
		{"system", `PROJCS["x",GEOGCS["y"]]`, []string{"description of a coordinate system"}},
		{"one number", "LINESTRING (1 2,\n 3)", []string{":2: vertex 2", "column 2", "1 number", "x and y"}},
		{"decimal comma", "POLYGON ((1929078,144 5582610,153))", []string{"vertex 1", "1 number"}},
		{"no number", "LINESTRING (1 2, )", []string{"vertex 2", `")" stands where a number`}},
		{"five numbers", "POINT (1 2 3 4 5)", []string{"column 16", "more than 4 numbers"}},
		{"too few for the tag", "POINT Z (1 2)", []string{"2 numbers where the tag Z asks for 3"}},
		{"too many for the tag", "POINT M (1 2 3 4)", []string{"4 numbers where the tag M asks for 3"}},
		{"too few for ZM", "POINT ZM (1 2 3)", []string{"3 numbers where the tag ZM asks for 4"}},
		{"mixed with measures", "LINESTRING (1 2,1 2 3 4)", []string{"vertex 2", "4 numbers where the first has 2"}},
		{"text", "LINESTRING (1 2, 3 x4)", []string{"vertex 2", `"x4" is not a number`}},
		{"not a number", "POINT (NaN 2)", []string{`"NaN" is not a number`}},
		{"endless", "POINT (1 Inf)", []string{`"Inf" is not a number`}},
		{"hexadecimal", "POINT (1 0x1F)", []string{`"0x1F" is not a number`}},
		{"overflow", "POINT (1 1e999)", []string{`"1e999" is too large`}},
		{"bare exponent", "POINT (1 2e)", []string{`"2e" is not a number`}},
		{"cut short", "POLYGON ((1 2, 3 4", []string{"vertex 2", "the end of the text"}},
		{"cut shorter", "POLYGON ((1 2,", []string{"vertex 2", "the text ends"}},
		{"nothing follows", "POLYGON", []string{"the end of the text stands where an opening bracket"}},
		{"brackets missing", "POLYGON (1 2, 3 4)", []string{"column 10", `"1" stands where an opening bracket`}},
		{"brackets too many", "LINESTRING ((1 2, 3 4))", []string{`"(" stands where a number`}},
		{"more behind", "POINT (1 2) x", []string{"column 13", `"x" follows after the end`}},
		{"point cut short", "POINT (1 2", []string{"the end of the text stands where the closing bracket of the point"}},
		{"two positions", "POINT (1 2, 3 4)", []string{"\",\" stands where the closing bracket of the point"}},
		{"long word", "POINT (" + strings.Repeat("ä", 50) + " 2)", []string{"ä...\" is not a number"}},
		{"two", "POINT (1 2) POINT (3 4)", []string{"follows after the end"}},
		{"holes without outer ring", "POLYGON (EMPTY, (1 2, 3 4, 5 6, 1 2))", []string{"outer ring is empty but holes follow"}},
		{"place of a hole", "POLYGON ((0 0,9 0,9 5,0 0),(1 1,2 1,2 2,1 1),(4 4,5 4,5 ?))", []string{"hole 2, vertex 3", `"?"`}},
		{"place of a part", "MULTIPOLYGON (((0 0,9 0,9 5,0 0)),((0 0,9 0),(1)))", []string{"part 2, hole 1, vertex 1"}},
		{"place in a collection", "GEOMETRYCOLLECTION (POINT (1 2), MULTILINESTRING ((1 2,3 4),(1 2,z 4)))", []string{"part 2, vertex 2"}},
		{"SRID of letters", "SRID=abc;POINT (1 2)", []string{"column 6", `SRID is "abc"`}},
		{"SRID without end", "SRID=25832 POINT (1 2)", []string{"a semicolon is expected"}},
		{"SRID without sign", "SRID 25832;POINT (1 2)", []string{"= is expected"}},
		{"too deep", strings.Repeat("GEOMETRYCOLLECTION(", 2000), []string{"nested more than 32 deep"}},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			_, err := wkt.Parse(c.text)
			var e *geo.InputError
			require.ErrorAs(t, err, &e)
			e.File = "x"
			for _, w := range c.words {
				assert.Contains(t, err.Error(), w)
			}
		})
	}
}
