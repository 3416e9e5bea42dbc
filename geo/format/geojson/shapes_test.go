package geojson_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hemrow/geo"
)

func TestShapes(t *testing.T) {
	feature := featureJSON(polygonJSON(square))
	cases := []struct {
		name, in string
		features int
		lines    []int
	}{
		{"collection", collectionJSON(feature, feature), 2, []int{1, 1}},
		{"windows lines", strings.ReplaceAll("{\n\"type\":\"FeatureCollection\",\n\"features\":[\n"+feature+",\n"+feature+"\n]\n}\n", "\n", "\r\n"), 2, []int{4, 5}},
		{"features before type", `{"features":[` + feature + `],"type":"FeatureCollection"}`, 1, []int{1}},
		{"type not said", `{"features":[` + feature + `]}`, 1, []int{1}},
		{"feature", "\n\n" + feature, 1, []int{3}},
		{"geometry", polygonJSON(square), 1, []int{1}},
		{"coordinates before type", `{"coordinates":` + square + `,"type":"Polygon"}`, 1, []int{1}},
		{"line by line", feature + "\n\n" + feature + "\r\n" + feature + "\n", 3, []int{1, 3, 4}},
		{"line by line, no end", feature + "\n" + feature, 2, []int{1, 2}},
		{"line by line, geometries", polygonJSON(square) + "\n" + polygonJSON(square), 2, []int{1, 2}},
		{"line by line, collections", collectionJSON(feature, feature) + "\n" + collectionJSON(feature), 3, []int{1, 1, 2}},
		{"one after another", feature + feature + " " + feature, 3, []int{1, 1, 1}},
		{"one after another, pretty", "{\n" + feature[1:] + "\n{\n" + feature[1:], 2, []int{1, 3}},
		{"sequence", "\x1E" + feature + "\n\x1E" + feature + "\n", 2, []int{1, 2}},
		{"sequence, pretty", "\x1E{\n" + feature[1:] + "\n\x1E\x1E" + collectionJSON(feature) + "\n", 2, []int{1, 3}},
		{"pretty", "{\n  \"type\": \"Feature\",\n  \"properties\": {},\n  \"geometry\": {\n    \"type\": \"Polygon\",\n    \"coordinates\": " + square + "\n  }\n}\n", 1, []int{1}},
		{"first line looks whole", "{\"type\":\"FeatureCollection\",\"crs\":{\"type\":\"name\",\"properties\":{\"name\":\"EPSG:4326\"}}\n,\"features\":[" + feature + "]}", 1, []int{2}},
		{"foreign members", `{"type":"FeatureCollection","name":"x","meta":{"a":[1,{"b":null}]},"bbox":[1,2,3,4],"features":[` + feature + `],"more":"y"}`, 1, []int{1}},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			f, err := read(c.in)
			require.NoError(t, err)
			require.Len(t, f.Features, c.features)
			for i, got := range f.Features {
				assert.Equal(t, i+1, got.Number)
				assert.Equal(t, c.lines[i], got.Line, "feature %d", i+1)
				assert.Len(t, got.Polygons[0][0], 5)
			}
			assert.Equal(t, "GeoJSON", f.Format)
			assert.True(t, f.Reference.WGS84)
		})
	}
}

func TestRefused(t *testing.T) {
	feature := featureJSON(polygonJSON(square))
	checkRefusals(t, []refusal{
		{"comma before ]", collectionJSON(feature, ""), []string{"north.geojson:1: column", "there is a comma before ]"}},
		{"comma before } at the end", strings.TrimSuffix(collectionJSON(feature), "}") + ",}", []string{"there is a comma before }"}},
		{"comma in a feature", collectionJSON(feature, "\n  "+featureJSON(polygonJSON(`[[[1,2],[3,4],]]`))), []string{"north.geojson:2: feature 2", "@,]]", "there is a comma before ]"}},
		{"comma in properties", collectionJSON(`{"type":"Feature","properties":{"a":1,},"geometry":null}`), []string{"@,}", "there is a comma before }"}},
		{"comma missing", collectionJSON(feature + feature), []string{"{ is not expected here"}},
		{"line comment", "// my field\n" + feature, []string{"north.geojson:1: column 1: JSON has no comments"}},
		{"line comment inside", collectionJSON("\n// it's mine\n" + feature), []string{"north.geojson:2: feature 1: column 1: JSON has no comments"}},
		{"block comment inside", collectionJSON("\n" + featureJSON(polygonJSON("[/* corner */"+square+"]"))), []string{"north.geojson:2: feature 1: ", "@/*", "JSON has no comments"}},
		{"single quotes", `{'type':'Feature'}`, []string{"column 2: text must stand in double quotes"}},
		{"TopoJSON", `{"type":"Topology","arcs":[],"objects":{}}`, []string{"TopoJSON", "ogr2ogr"}},
		{"a list", `[` + feature + `]`, []string{"begins with a list", "FeatureCollection"}},
		{"text", `name,lon,lat`, []string{"column 1", `"name" is not expected here`}},
		{"quoted", `"Feature"`, []string{"column 1"}},
		{"other JSON", `{"a":1}`, []string{"JSON, but no GeoJSON"}},
		{"other JSON with a list", `{"features":{"a":1}}`, []string{"JSON, but no GeoJSON"}},
		{"unknown type", featureJSON(`{"type":"CurvePolygon","coordinates":[]}`), []string{`type "CurvePolygon" is unknown`, "hemrow reads Polygon"}},
		{"type in small letters", featureJSON(`{"type":"polygon","coordinates":[]}`), []string{`type "polygon" is unknown`, `write "Polygon"`}},
		{"no type", featureJSON(`{"coordinates":[]}`), []string{"geometry without its type"}},
		{"type a number", featureJSON(`{"type":7,"coordinates":[]}`), []string{"type is not text"}},
		{"collection in a collection", collectionJSON(collectionJSON(feature)), []string{"a FeatureCollection stands where a feature is expected"}},
		{"no features", `{"type":"FeatureCollection"}`, []string{`without its list "features"`}},
		{"features null", `{"type":"FeatureCollection","features":null}`, []string{`without its list "features"`}},
		{"feature null", collectionJSON("null"), []string{"holds null, which is no feature"}},
		{"feature text", collectionJSON(`"a"`), []string{"holds text, which is no feature"}},
		{"brackets cross", collectionJSON(`{"type":"Feature","properties":[}`), []string{"} stands where ] must close"}},
		{"more behind", collectionJSON(feature) + "]", []string{"] is not expected here"}},
		{"features twice", `{"type":"FeatureCollection","features":[],"features":[]}`, []string{`"features" stands twice`}},
		{"coordinates twice", featureJSON(`{"type":"Polygon","coordinates":` + square + `,"coordinates":[]}`), []string{`"coordinates" stands twice`}},
		{"geometry twice", `{"type":"Feature","geometry":null,"geometry":null}`, []string{`"geometry" stands twice`}},
		{"type twice", featureJSON(`{"type":"Polygon","type":"Polygon","coordinates":[]}`), []string{`"type" stands twice`}},
		{"properties twice", `{"type":"Feature","properties":{},"properties":{},"geometry":null}`, []string{`"properties" stands twice`}},
		{"properties a list", `{"type":"Feature","properties":[],"geometry":null}`, []string{"the properties are a list"}},
		{"id an object", `{"type":"Feature","id":{},"geometry":null}`, []string{"the id is an object"}},
		{"control character", "{\"type\":\"Feature\",\"properties\":{\"a\":\"b\nc\"},\"geometry\":null}", []string{"control character 0x0A"}},
		{"wrong escape", `{"type":"Feature","properties":{"a":"\q"},"geometry":null}`, []string{"wrong escape"}},
		{"wrong word", `{"type":"Feature","properties":{"a":nil},"geometry":null}`, []string{"@nil", `"nil" is not expected here`}},
		{"True", `{"type":"Feature","properties":{"a":True},"geometry":null}`, []string{`"True" is not expected here`}},
	})
}

func TestEsriJSON(t *testing.T) {
	// outer rings clockwise, holes counter-clockwise, in any order
	hole := `[[2,2],[3,2],[3,3],[2,2]]`
	outer := `[[0,0],[0,9],[9,9],[9,0],[0,0]]`
	other := `[[20,0],[20,9],[29,9],[20,0]]`
	set := func(head, rings string) string {
		return `{"geometryType":"esriGeometryPolygon",` + head + `"features":[{"attributes":{"OBJECTID":1,"NAME":"North"},"geometry":{"rings":[` + rings + `]}}]}`
	}
	wgs := `"spatialReference":{"wkid":4326,"latestWkid":4326},`
	f, err := read(set(wgs, hole+","+outer+","+other))
	require.NoError(t, err)
	require.Len(t, f.Features, 1)
	assert.Equal(t, "North", f.Features[0].Name)
	require.Len(t, f.Features[0].Polygons, 2)
	require.Len(t, f.Features[0].Polygons[0], 2, "the hole lies in the first outer ring")
	assert.Len(t, f.Features[0].Polygons[1], 1)
	assert.Equal(t, geo.Info, noteOf(t, f, geo.NoteForeignShape).Severity)

	f, err = read(set(wgs, hole))
	require.NoError(t, err)
	assert.Len(t, f.Features[0].Polygons, 1, "a lone ring the wrong way round is an outline")

	f, err = read(`{"rings":[` + outer + `],"spatialReference":{"wkid":4979}}`)
	require.NoError(t, err)
	assert.Len(t, f.Features[0].Polygons, 1)

	f, err = read(`{"hasM":true,"spatialReference":{"wkid":4326},"features":[{"attributes":{},"geometry":{"paths":[[[1,2,3],[3,4,9]]]}}]}`)
	require.NoError(t, err)
	assert.False(t, f.Features[0].Lines[0][1].HasZ(), "a measure is no height")

	checkRefusals(t, []refusal{
		{"system as text", set(`"spatialReference":{"wkt":"PROJCS[]"},`, outer), []string{"PROJCS", "ogr2ogr"}},
		{"no system", set("", outer), []string{"without its coordinate system"}},
		{"hole outside", set(wgs, outer+`,[[50,50],[51,50],[51,51],[50,50]]`), []string{"ring 2 runs the way of a hole"}},
		{"curves", `{"curveRings":[],"spatialReference":{"wkid":4326}}`, []string{"no GeoJSON"}},
		{"point", `{"spatialReference":{"wkid":4326},"features":[{"attributes":{},"geometry":{"x":1,"y":2}}]}`, []string{"without rings or paths (x)"}},
	})
}
