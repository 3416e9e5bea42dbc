package points_test

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hemrow/geo"
	"hemrow/geo/format"
)

func sprint(f format.File) string { return fmt.Sprint(f.Features[0].Points) }

func TestShapes(t *testing.T) {
	ring := format.Ring{at(0, 0, nan), at(9, 0, nan), at(9, 5, nan), at(0, 0, nan)}
	for name, text := range map[string]string{
		"quoted":          "id,wkt,crop\nKR1,\"POLYGON ((0 0,9 0,9 5,0 0))\",plum\n",
		"upper case":      "ID,WKT,crop\nKR1,\"POLYGON ((0 0,9 0,9 5,0 0))\",plum\n",
		"semicolons":      "id;geom;crop\nKR1;POLYGON ((0 0,9 0,9 5,0 0));plum\n",
		"tabs":            "id\tthe_geom\tcrop\nKR1\tPOLYGON((0 0,9 0,9 5,0 0))\tplum\n",
		"over two lines":  "id,wkt,crop\nKR1,\"POLYGON ((0 0,9 0,\n9 5,0 0))\",plum\n",
		"beside x and y":  "x,y,id,wkt,crop\n1,2,KR1,\"POLYGON ((0 0,9 0,9 5,0 0))\",plum\n",
		"decimal in text": "id,wkt,crop,share\nKR1,\"POLYGON ((0 0,9 0,9 5,0 0))\",plum,\"0,5\"\n",
	} {
		t.Run(name, func(t *testing.T) {
			f, err := read(text)
			require.NoError(t, err)
			require.Len(t, f.Features, 1)
			got := f.Features[0]
			assert.Equal(t, fmt.Sprint([]format.Polygon{{ring}}), fmt.Sprint(got.Polygons))
			assert.Equal(t, "KR1", got.Name)
			assert.Equal(t, "plum", got.Properties["crop"])
			assert.Equal(t, 2, got.Line)
			assert.True(t, f.Reference.Silent())
		})
	}
	for name, text := range map[string]string{
		"shape alone":           "wkt\n\"POLYGON ((0 0,9 0,9 5,0 0))\"\n",
		"shape alone, unquoted": "wkt\nPOLYGON ((0 0,9 0,9 5,0 0))\n",
		"no header":             "POLYGON ((0 0,9 0,9 5,0 0));plum\n",
	} {
		t.Run(name, func(t *testing.T) {
			f, err := read(text)
			require.NoError(t, err)
			assert.Equal(t, fmt.Sprint([]format.Polygon{{ring}}), fmt.Sprint(f.Features[0].Polygons))
		})
	}
	f, err := read("id,wkt\na,\"SRID=25832;POINT Z (1 2 3)\"\nb,\nc,POLYGON EMPTY\nd,SRID=25832;POINT (4 5)\n")
	require.NoError(t, err)
	assert.Equal(t, 25832, f.Reference.Code)
	require.Len(t, f.Features, 2)
	assert.Equal(t, 4, f.Features[1].Number)
	assert.InDelta(t, 2, noteOf(t, f, geo.NoteFeatureLeft).Value, 0)
	f, err = read("id;wkt;crop\nT\xFCr;POINT (1 2);\xC4pfel\n")
	require.NoError(t, err)
	assert.Equal(t, "Tür", f.Features[0].Name)
	assert.InDelta(t, 2, noteOf(t, f, geo.NoteTextGuessed).Value, 0)
	f, err = read("id,wkt\na,\"LINESTRING ZM (1 2 3 4,5 6 7 8)\"\n")
	require.NoError(t, err)
	noteOf(t, f, geo.NoteMeasureLeft)
	checkRefusals(t, []refusal{
		{
			"place", "id,wkt\na,POINT (1 2)\nb,\"POLYGON ((0 0,9 0,\n9 5,x 0))\"\n",
			[]string{`rise.csv:4: feature 2, vertex 4: shape in column 2 of the table: column 5: "x" is not a number`},
			"",
		},
		{"systems differ", "id,wkt\na,SRID=25832;POINT (1 2)\nb,SRID=25833;POINT (1 2)\n", []string{":3: feature 2", "SRID 25833"}, "one system"},
		{"nothing", "id,wkt\na,POINT EMPTY\nb,\n", []string{"no row has a shape"}, ""},
		{"unquoted commas", "id,wkt\na,\"POLYGON ((0 0,9 0,9 5,0 0))\"\nb,POLYGON ((0 0,9 0,9 5,0 0))\n", []string{":3: 5 columns where the header has 2"}, "quotation marks"},
	})
}
