package plan

import (
	"bytes"
	"flag"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"unicode/utf8"

	yaml "github.com/goccy/go-yaml"
	"github.com/santhosh-tekuri/jsonschema/v6"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

var update = flag.Bool("update", false, "write golden files anew")

// golden compares with a file of our own output; read its diff before
// committing it.
func golden(t *testing.T, name string, got []byte) {
	t.Helper()
	if *update {
		require.NoError(t, os.MkdirAll(filepath.Dir(name), 0o755))
		require.NoError(t, os.WriteFile(name, got, 0o644))
	}
	want, err := os.ReadFile(name)
	require.NoError(t, err)
	assert.Equal(t, string(want), string(got), "run the tests with -update if this change is meant")
}

const kestrelNote = "feature 1 \"Kestrel Rise\": outline, 4.8 ha\nfeature 2 \"Heron Pond\": obstacle, 0.1 ha\n"

// starter is a starter file with nothing known but the outline.
func starter(outline, name string, units Units, note string) []byte {
	p := Default()
	p.Name, p.Field.Outline, p.Units = name, outline, units
	return Starter(p, note)
}

func TestStarter(t *testing.T) {
	metric := starter("kestrel-rise.geojson", "Kestrel Rise", Metric, kestrelNote)
	golden(t, "testdata/starter-metric.yaml", metric)
	p, err := Parse("p.yaml", metric)
	require.NoError(t, err)
	want := Default()
	want.Name, want.Field.Outline = "Kestrel Rise", "kestrel-rise.geojson"
	assert.Equal(t, want, bare(p))
	assert.NoError(t, p.Validate())
	for _, e := range p.Echo() {
		assert.True(t, e.FromFile, "%s is not in sight", e.Key)
	}
}

// In US units every measure is near the default and short to say.
func TestStarterUS(t *testing.T) {
	us := starter("kestrel-rise.geojson", "Kestrel Rise", US, "")
	golden(t, "testdata/starter-us.yaml", us)
	p, err := Parse("p.yaml", us)
	require.NoError(t, err)
	require.NoError(t, p.Validate())
	assert.Equal(t, US, p.Units)
	def := Default()
	for _, k := range table() {
		q, ok := k.codec.(quantity)
		if !ok || k.Section == "plants" {
			continue
		}
		want, got := *q.at(target{plan: &def}), *q.at(target{plan: &p})
		assert.InDelta(t, want, got, 0.03*math.Abs(want), k.Path())
	}
	for _, other := range []string{" m ", " mm ", " um ", " kg ", "kg/m3 "} {
		for line := range strings.SplitSeq(string(us), "\n") {
			if entry, _, _ := strings.Cut(line, "#"); entry != "" {
				assert.NotContains(t, entry, other)
			}
		}
	}
}

func TestSayable(t *testing.T) {
	for v, want := range map[float64]float64{
		0: 0, 9.84: 10, 16.4: 16, 32.8: 33, 46.3: 45, 5.91: 6, 820.2: 800, 3280.8: 3300, 0.394: 0.4, 57.4: 57, -9.84: -10,
	} {
		assert.InDelta(t, want, sayable(v), 0, "%g", v)
	}
}

// The samples behind their # are sound plants.
func TestStarterSamplesAreSound(t *testing.T) {
	for _, units := range []Units{Metric, US} {
		text := string(starter("f.geojson", "f", units, ""))
		head, plants, ok := strings.Cut(text, "\nplants:\n")
		require.True(t, ok)
		plants = strings.ReplaceAll("\n"+plants, "\n  # ", "\n  ")
		p, err := Parse("p.yaml", []byte(head+"\nplants:\n"+plants))
		require.NoError(t, err, plants)
		require.NoError(t, p.Validate())
		require.Len(t, p.Rows.Plants, 2)
	}
}

// Names and notes from a file of others cannot write keys, and every line
// stays narrow.
func TestStarterWithHostileNames(t *testing.T) {
	evil := "x\nrows:\r  spacing: 1 m\u2028# \"'\\: &a *b !c {[\x00\x1b\xff"
	text := starter("a b: #\"\\.geojson", evil, Metric, evil)
	p, err := Parse("p.yaml", text)
	require.NoError(t, err, "%s", text)
	want := Default()
	want.Name, want.Field.Outline = `xrows:  spacing: 1 m# "'\: &a *b !c {[`, `a b: #"\.geojson`
	assert.Equal(t, want, bare(p))
	for line := range bytes.SplitSeq(starter("f.geojson", "f", US, ""), []byte("\n")) {
		assert.LessOrEqual(t, utf8.RuneCount(line), starterWidth, "%s", line)
	}
}

func compiledSchema(t *testing.T) *jsonschema.Schema {
	t.Helper()
	doc, err := jsonschema.UnmarshalJSON(bytes.NewReader(Schema()))
	require.NoError(t, err)
	c := jsonschema.NewCompiler()
	require.NoError(t, c.AddResource("urn:hemrow:plan:1", doc))
	s, err := c.Compile("urn:hemrow:plan:1")
	require.NoError(t, err)
	return s
}

// asJSON is what an editor hands to the schema.
func asJSON(t *testing.T, text []byte) any {
	t.Helper()
	js, err := yaml.YAMLToJSON(text)
	require.NoError(t, err)
	doc, err := jsonschema.UnmarshalJSON(bytes.NewReader(js))
	require.NoError(t, err)
	return doc
}

func TestSchema(t *testing.T) {
	golden(t, "plan.schema.json", Schema())
	s := compiledSchema(t)
	for name, text := range map[string][]byte{
		"metric starter": starter("f.geojson", "Kestrel Rise", Metric, kestrelNote),
		"US starter":     starter("f.geojson", "Kestrel Rise", US, ""),
		"sample":         []byte(kestrelRise),
		"every key":      Default().YAML(),
		"version only":   []byte("hemrow_plan: 1\n"),
	} {
		assert.NoError(t, s.Validate(asJSON(t, text)), name)
	}
}

// What Parse refuses for its form, the schema refuses too.
func TestSchemaRefuses(t *testing.T) {
	s := compiledSchema(t)
	for _, text := range []string{
		"name: x\n", "hemrow_plan: 2\n", "hemrow_plan: 1\nsize: 5\n",
		"hemrow_plan: 1\nrows: {spacing: 5}\n", "hemrow_plan: 1\nrows: {spacing: 5 kg}\n",
		"hemrow_plan: 1\nrows: {spacing: 4,5 m}\n", "hemrow_plan: 1\nrows: {heading: 37}\n",
		"hemrow_plan: 1\nrows: {spaceing: 5 m}\n", "hemrow_plan: 1\nrows: {first_row: middle}\n",
		"hemrow_plan: 1\nrows: {start_side: up}\n", "hemrow_plan: 1\nfield: {strict: maybe}\n",
		"hemrow_plan: 1\ncover: {covering: straw}\n", "hemrow_plan: 1\ntape: {tape_lines: 1.5}\n",
		"hemrow_plan: 1\nseam: {safety: 1.5 m}\n", "hemrow_plan: 1\nplants: hazel\n",
		"hemrow_plan: 1\nplants: [{plant: hazel}]\n", "hemrow_plan: 1\nplants: [{plant: x, pitch: 4 m, rows: odd}]\n",
	} {
		_, err := Parse("p.yaml", []byte(text))
		require.Error(t, err, text)
		assert.Error(t, s.Validate(asJSON(t, []byte(text))), text)
	}
}

// The schema and the table name the same keys.
func TestSchemaHasEveryKey(t *testing.T) {
	doc := asJSON(t, Schema()).(map[string]any)
	count := 0
	var walk func(m map[string]any)
	walk = func(m map[string]any) {
		props, _ := m["properties"].(map[string]any)
		for name, sub := range props {
			if isSection(name) && sub.(map[string]any)["const"] == nil && sub.(map[string]any)["pattern"] == nil {
				inner := sub.(map[string]any)
				if items, ok := inner["items"].(map[string]any); ok {
					inner = items
				}
				walk(inner)
				continue
			}
			count++
		}
	}
	walk(doc)
	assert.Equal(t, len(Keys()), count)
}
