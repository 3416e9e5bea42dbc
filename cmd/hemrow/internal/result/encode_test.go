package result

import (
	"bytes"
	"encoding/json"
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"testing"

	"github.com/santhosh-tekuri/jsonschema/v6"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hemrow/geo"
)

var update = flag.Bool("update", false, "write golden files")

func TestEncodeGolden(t *testing.T) {
	got, err := Encode(smallDocument(t))
	require.NoError(t, err)
	path := filepath.Join("testdata", "small.json")
	if *update { // a golden file is our own output, read over before it is kept
		require.NoError(t, os.MkdirAll("testdata", 0o755))
		require.NoError(t, os.WriteFile(path, got, 0o644))
	}
	want, err := os.ReadFile(path)
	require.NoError(t, err)
	assert.Equal(t, string(want), string(got))
	assert.True(t, bytes.HasPrefix(got, []byte("{\n \"hemrow_result\": 1,\n")), "the version comes first")
}

// Setting over lines changes white space only.
func TestEncodeKeepsTheValue(t *testing.T) {
	in := smallInput(t)
	in.Field.Name = "a \"quoted\\\" {[name]}, with \u2028, <b>, \xff and " + strings.Repeat("length ", 40)
	in.Notes = append(in.Notes, geo.Note{Text: "مزرعة"})
	d, err := New(in)
	require.NoError(t, err)
	got, err := Encode(d)
	require.NoError(t, err)
	var compact bytes.Buffer
	require.NoError(t, json.Compact(&compact, got))
	var plain bytes.Buffer
	enc := json.NewEncoder(&plain)
	enc.SetEscapeHTML(false)
	require.NoError(t, enc.Encode(d))
	assert.Equal(t, strings.TrimSpace(plain.String()), compact.String())
	again, err := Decode(got)
	require.NoError(t, err)
	assert.Equal(t, d, again)
	twice, err := Encode(again)
	require.NoError(t, err)
	assert.Equal(t, string(got), string(twice))
}

func TestEncodeRefusesABrokenDocument(t *testing.T) {
	_, err := Encode(Document{})
	assert.ErrorContains(t, err, "hemrow_result is 0")
	d := smallDocument(t)
	d.Field.Obstacles[0].Area.LonLat[0][0] = Position{}
	_, err = Encode(d)
	assert.ErrorContains(t, err, "0 numbers")
}

func TestDecodeRefuses(t *testing.T) {
	good, err := Encode(smallDocument(t))
	require.NoError(t, err)
	swap := func(old, repl string) func(string) string {
		return func(s string) string {
			require.Contains(t, s, old)
			return strings.Replace(s, old, repl, 1)
		}
	}
	for _, c := range []struct {
		name, want string
		spoil      func(string) string
	}{
		{"nothing", "before it is complete", func(string) string { return "" }},
		{"cut short", "before it is complete", func(s string) string { return s[:len(s)/2] }},
		{"no object", "no result of hemrow", func(string) string { return "[1]" }},
		{"another file", "no result of hemrow", func(string) string { return `{"type":"FeatureCollection"}` }},
		{"later version", `version 2 (written by version "v0.1.0"); this program reads version 1`, swap(`"hemrow_result": 1`, `"hemrow_result": 2`)},
		{"version of another kind", "version 1.0", swap(`"hemrow_result": 1`, `"hemrow_result": 1.0`)},
		{"unknown field", `unknown field "colour"`, swap(`"units": "metric"`, `"units": "metric", "colour": "red"`)},
		{"missing field", "units is missing", swap(`"units": "metric",`, `"Units": "metric",`)},
		{"missing deep field", "rows[0].across_m is missing", swap(`"across_m": 0,`, "")},
		{"null number", "blocks[0].tally.plan_m is null", swap(`"plan_m":224`, `"plan_m":null`)},
		{"null list", "inputs[0].format is null", swap(`"format":"GeoJSON"`, `"format":null`)},
		{"null in a place", "null where a number", swap(`[[-20,-40]`, `[[null,-40]`)},
		{"one number", "x and y", swap(`[[-20,-40]`, `[[-20]`)},
		{"three numbers", "x and y", swap(`[[-20,-40]`, `[[-20,-40,1]`)},
		{"text for a number", "is a JSON string", swap(`"plan_m":224`, `"plan_m":"224"`)},
		{"other words", `units is "cubits"`, swap(`"units": "metric"`, `"units": "cubits"`)},
		{"other severity", "notes[0].severity", swap(`"severity":"info"`, `"severity":"mild"`)},
		{"pass of nothing", "passes[0] takes R009", swap(`"piece":"R001","row":1,"part":1,"from_b"`, `"piece":"R009","row":9,"part":1,"from_b"`)},
		{"more behind", "more text behind", func(s string) string { return s + "{}" }},
		{"syntax", "line 4", swap(`"units":`, `"units",`)},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, err := Decode([]byte(c.spoil(string(good))))
			assert.ErrorContains(t, err, c.want)
		})
	}
}

func compileSchema(t *testing.T) *jsonschema.Schema {
	t.Helper()
	doc, err := jsonschema.UnmarshalJSON(bytes.NewReader(Schema()))
	require.NoError(t, err)
	c := jsonschema.NewCompiler()
	require.NoError(t, c.AddResource("result.schema.json", doc))
	s, err := c.Compile("result.schema.json")
	require.NoError(t, err)
	return s
}

func TestDocumentsMatchTheSchema(t *testing.T) {
	s := compileSchema(t)
	b, err := Encode(smallDocument(t))
	require.NoError(t, err)
	v, err := jsonschema.UnmarshalJSON(bytes.NewReader(b))
	require.NoError(t, err)
	require.NoError(t, s.Validate(v))
	for _, c := range []struct{ name, old, repl string }{
		{"version", `"hemrow_result": 1`, `"hemrow_result": 2`},
		{"unknown", `"units": "metric"`, `"units": "metric", "x": 1`},
		{"null", `"plan_m":224`, `"plan_m":null`},
		{"place", `[[-20,-40]`, `[[-20]`},
	} {
		require.Contains(t, string(b), c.old)
		v, err := jsonschema.UnmarshalJSON(strings.NewReader(strings.Replace(string(b), c.old, c.repl, 1)))
		require.NoError(t, err)
		assert.Error(t, s.Validate(v), c.name)
	}
}

// The published schema and the structs name the same fields, in the same
// order, of the same kinds, all required.
func TestSchemaIsUpToDate(t *testing.T) {
	var root map[string]any
	require.NoError(t, json.Unmarshal(Schema(), &root))
	defs := root["$defs"].(map[string]any)
	seen := map[string]bool{}
	var compare func(place string, typ reflect.Type, s map[string]any)
	compare = func(place string, typ reflect.Type, s map[string]any) {
		if ref, ok := s["$ref"].(string); ok {
			name := strings.TrimPrefix(ref, "#/$defs/")
			def, ok := defs[name].(map[string]any)
			require.True(t, ok, "%s: %s", place, ref)
			seen[name] = true
			s = def
		}
		if typ.Kind() == reflect.Pointer {
			assert.Contains(t, nullable(), place[strings.LastIndex(place, ".")+1:])
			if either, ok := s["anyOf"].([]any); ok {
				compare(place, typ.Elem(), either[0].(map[string]any))
				return
			}
			assert.Equal(t, []any{"number", "null"}, s["type"], place)
			return
		}
		kinds := map[reflect.Kind]string{
			reflect.String: "string", reflect.Int: "integer", reflect.Int64: "integer",
			reflect.Float64: "number", reflect.Bool: "boolean", reflect.Slice: "array", reflect.Array: "array", reflect.Struct: "object",
		}
		if _, constant := s["const"]; !constant {
			assert.Equal(t, kinds[typ.Kind()], s["type"], place)
		}
		switch typ.Kind() {
		case reflect.Slice, reflect.Array:
			compare(place+"[]", typ.Elem(), s["items"].(map[string]any))
		case reflect.Struct:
			props := s["properties"].(map[string]any)
			var names []string
			for i := range typ.NumField() {
				name := typ.Field(i).Tag.Get("json")
				names = append(names, name)
				sub, ok := props[name].(map[string]any)
				require.True(t, ok, "the schema lacks %s.%s", place, name)
				compare(place+"."+name, typ.Field(i).Type, sub)
			}
			assert.Len(t, props, len(names), "%s has more fields in the schema", place)
			assert.Equal(t, fmt.Sprint(s["required"]), fmt.Sprint(names), place)
			assert.Equal(t, false, s["additionalProperties"], place)
		}
	}
	compare("document", reflect.TypeFor[Document](), root)
	for name := range defs {
		assert.True(t, seen[name], "nothing uses $defs/%s", name)
	}
	onDisk, err := os.ReadFile("result.schema.json")
	require.NoError(t, err)
	assert.Equal(t, onDisk, Schema())
}

// The lists of words in the schema are those the document is checked against.
func TestSchemaWords(t *testing.T) {
	for _, words := range [][]string{unitSystems(), severities(), turns(), styles(), append([]string{"none"}, severities()...)} {
		list, err := json.Marshal(words)
		require.NoError(t, err)
		assert.Contains(t, strings.ReplaceAll(string(Schema()), `", "`, `","`), `"enum": `+string(list))
	}
}

func FuzzDecode(f *testing.F) {
	good, err := Encode(smallDocument(f))
	require.NoError(f, err)
	f.Add(good)
	bent, err := Encode(bentDocument(f))
	require.NoError(f, err)
	f.Add(bent)
	f.Add([]byte(`{"hemrow_result":1}`))
	f.Add([]byte(`{"hemrow_result":2}`))
	f.Add([]byte(``))
	f.Fuzz(func(t *testing.T, data []byte) {
		d, err := Decode(data)
		if err != nil {
			return
		}
		b, err := Encode(d)
		require.NoError(t, err)
		again, err := Decode(b)
		require.NoError(t, err)
		require.Equal(t, d, again)
	})
}

func ExampleDecode() {
	_, err := Decode([]byte(`{"hemrow_result": 7, "generator": {"program": "hemrow", "version": "v9.0.0"}}`))
	fmt.Println(err)
	// Output:
	// result document: version 7 (written by version "v9.0.0"); this program reads version 1, so plan the field again or use the program that wrote it
}

func BenchmarkDocument(b *testing.B) {
	in := smallInput(b)
	d := smallDocument(b)
	data, err := Encode(d)
	require.NoError(b, err)
	b.Run("new", func(b *testing.B) {
		b.ReportAllocs()
		for b.Loop() {
			if _, err := New(in); err != nil {
				b.Fatal(err)
			}
		}
	})
	b.Run("encode", func(b *testing.B) {
		b.ReportAllocs()
		b.SetBytes(int64(len(data)))
		for b.Loop() {
			if _, err := Encode(d); err != nil {
				b.Fatal(err)
			}
		}
	})
	b.Run("decode", func(b *testing.B) {
		b.ReportAllocs()
		b.SetBytes(int64(len(data)))
		for b.Loop() {
			if _, err := Decode(data); err != nil {
				b.Fatal(err)
			}
		}
	})
}
