package plan

import (
	"errors"
	"fmt"
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"hemrow/geo"
	"hemrow/materials"
	"hemrow/rows"
)

const kestrelRise = `# Kestrel Rise, invented
hemrow_plan: 1
name: Kestrel Rise
units: us
field:
  outline: kestrel-rise.geojson
  choose: Upper field
  obstacles: [ponds.geojson, "rocks, big.geojson"]
  obstacle_mark: ground=pond
  swap_axes: yes
  strict: true
rows:
  spacing: 16 ft
  heading: along edge 3
  first_row: 3.5 m
  longest_run: 150 m
  start_side: NW
cover:
  covering: two sheets
  film_thickness: 3 mil
chips:
tape: {tape_lines: 2, tape_slack: 3 %}
plants:
  - plant: hazel
    pitch: 4 m
    rows: 1 of 2
  - plant: plum
    pitch: 3 m
    start: 5'6"
    rows: 2 of 2
`

// bare is a plan without the places of its keys.
func bare(p Plan) Plan {
	p.file, p.at = "", nil
	return p
}

func TestParse(t *testing.T) {
	p, err := Parse("plan.yaml", []byte(kestrelRise))
	require.NoError(t, err)
	require.NoError(t, p.Validate())

	want := Default()
	want.Name, want.Units = "Kestrel Rise", US
	want.Field = FieldSection{
		Outline: "kestrel-rise.geojson", Obstacles: []string{"ponds.geojson", "rocks, big.geojson"},
		Choose: "Upper field", ObstacleMark: "ground=pond", SwapAxes: true, Strict: true,
	}
	want.Rows.SpacingM = 4.8768
	want.Rows.Heading = rows.Heading{Mode: rows.HeadingEdge, Edge: 3, StepDeg: want.Rows.Heading.StepDeg}
	want.Rows.FirstRow = rows.FirstRow{OffsetM: 3.5, Steps: want.Rows.FirstRow.Steps}
	want.Rows.LongestM, want.Rows.StartSide = 150, "NW"
	want.Rows.Plants = []rows.Planting{
		{Plant: "hazel", PitchM: 4, StartM: 1, From: 1, Every: 2},
		{Plant: "plum", PitchM: 3, StartM: 1.6764, From: 2, Every: 2},
	}
	want.Materials = materials.DefaultSpec(materials.TwoSheet)
	want.Materials.Film.ThicknessUm = 76.2
	want.Materials.Tape.LinesCount, want.Materials.Tape.SlackPct = 2, 3
	assert.Equal(t, want, bare(p))
}

func TestHeadings(t *testing.T) {
	for text, want := range map[string]rows.Heading{
		"search":              {Mode: rows.HeadingSearch},
		"along longest edge":  {Mode: rows.HeadingLongestEdge},
		"along  longest edge": {Mode: rows.HeadingLongestEdge},
		"along edge 12":       {Mode: rows.HeadingEdge, Edge: 12},
		"37 deg":              {Mode: rows.HeadingFixed, Bearing: 37},
		"217.5°":              {Mode: rows.HeadingFixed, Bearing: 217.5},
		"360 deg":             {Mode: rows.HeadingFixed, Bearing: 0},
		"0 deg":               {Mode: rows.HeadingFixed, Bearing: geo.NewBearing(0)},
	} {
		p := Default()
		require.NoError(t, p.Override("heading", text))
		want.StepDeg = 1
		assert.Equal(t, want, p.Rows.Heading, text)
	}
}

// A file with its version only is the default plan, which is sound but for
// the missing outline.
func TestDefault(t *testing.T) {
	p, err := Parse("p.yaml", []byte("hemrow_plan: 1\n"))
	require.NoError(t, err)
	assert.Equal(t, Default(), bare(p))
	assert.Equal(t, []string{"p.yaml: field.outline: names no file | write the path of a GeoJSON, shapefile, KML or other file, seen from the plan file's folder"}, told(p.Validate()))
	p = Default()
	p.Field.Outline = "f.geojson"
	assert.NoError(t, p.Validate())
	assert.Error(t, Plan{}.Validate())
}

// The kind of cover decides the defaults wherever it stands in its section,
// and a flag that changes it keeps what the grower wrote.
func TestCoverBringsItsDefaults(t *testing.T) {
	p, err := Parse("p.yaml", []byte("hemrow_plan: 1\ntape:\n  tape_end: 2 m\ncover:\n  film_width: 1.5 m\n  covering: two sheets\n"))
	require.NoError(t, err)
	want := materials.DefaultSpec(materials.TwoSheet)
	want.Film.WidthM, want.Tape.EndM = 1.5, 2
	assert.Equal(t, want, p.Materials)

	require.NoError(t, p.Override("covering", "one sheet"))
	want = materials.DefaultSpec(materials.OneSheet)
	want.Film.WidthM, want.Tape.EndM = 1.5, 2
	assert.Equal(t, want, p.Materials)
}

func TestOverride(t *testing.T) {
	base, err := Parse("p.yaml", []byte("hemrow_plan: 1\nrows:\n  spacing: 4 m\n  headland: 7 m\n"))
	require.NoError(t, err)
	p := base
	require.NoError(t, p.Override("spacing", "5 m"))
	require.NoError(t, p.Override("first-row", "best"))
	require.NoError(t, p.Override("rows.turn_radius", "15 ft"))
	require.NoError(t, p.Override("obstacles", `[a.geojson, "b, c.geojson"]`))
	require.NoError(t, p.Override("strict", "yes"))
	assert.Equal(t, 5.0, p.Rows.SpacingM)
	assert.InDelta(t, 4.572, p.Rows.TurnRadiusM, 0) // 15 x 0.3048
	assert.Equal(t, []string{"a.geojson", "b, c.geojson"}, p.Field.Obstacles)
	assert.True(t, p.Field.Strict)
	require.NoError(t, p.Override("obstacles", "one.geojson"))
	assert.Equal(t, []string{"one.geojson"}, p.Field.Obstacles)
	require.NoError(t, p.Override("obstacles", ""))
	assert.Empty(t, p.Field.Obstacles)

	assert.Equal(t, 4.0, base.Rows.SpacingM, "plans are values")
	for _, e := range base.Echo() {
		assert.False(t, e.FromFlag, e.Key)
	}
	from := map[string]EchoLine{}
	for _, e := range p.Echo() {
		from[e.Key] = e
	}
	assert.Equal(t, EchoLine{Section: "rows", Key: "spacing", Text: "5 m", FromFlag: true}, from["spacing"])
	assert.Equal(t, EchoLine{Section: "rows", Key: "headland", Text: "7 m", FromFile: true}, from["headland"])
	assert.Equal(t, EchoLine{Section: "rows", Key: "cross_alley", Text: "6 m"}, from["cross_alley"])
}

func TestOverrideRefuses(t *testing.T) {
	for _, c := range []struct{ name, key, value, want string }{
		{"no unit", "spacing", "5", `--spacing: "5" has no unit | write 5 m or 16 ft`},
		{"hyphens", "first-row", "3", `--first-row: "3" has no unit | write 3 m or 9.8 ft`},
		{"underscores", "first_row", "3", `--first-row: "3" has no unit | write 3 m or 9.8 ft`},
		{"unknown", "spaceing", "5 m", "--spaceing: is no key of a plan | did you mean --spacing?"},
		{"unlike any", "tractor", "red", "--tractor: is no key of a plan"},
		{"key of a plant", "pitch", "4 m", "--pitch: cannot be set by a flag | write plants.pitch in the plan file"},
		{"version", "hemrow_plan", "1", "--hemrow-plan: cannot be set by a flag | write hemrow_plan in the plan file"},
		{"broken list", "obstacles", "[a", `--obstacles: "[a" is not a list of file names | write [ponds.geojson, rocks.geojson]`},
		{"list of lists", "obstacles", "[[a]]", `--obstacles: "[[a]]" is not a list of file names | write [ponds.geojson, rocks.geojson]`},
		{"not UTF-8", "name", "\xff", "--name: is no UTF-8 text | save the file as UTF-8"},
	} {
		t.Run(c.name, func(t *testing.T) {
			p := Default()
			err := p.Override(c.key, c.value)
			require.Error(t, err)
			assert.Equal(t, []string{c.want}, told(err))
			assert.Equal(t, Default(), p)
		})
	}
}

// What the specs refuse names the flag that brought it.
func TestFaultsOfFlags(t *testing.T) {
	p, err := Parse("p.yaml", []byte("hemrow_plan: 1\nfield:\n  outline: f.geojson\nrows:\n  spacing: 5 m\n  headland: 6 m\n"))
	require.NoError(t, err)
	require.NoError(t, p.Override("spacing", "5 mm"))
	require.NoError(t, p.Override("side_angle", "80 deg"))
	p.Rows.HeadlandM = math.NaN()
	assert.ElementsMatch(t, []string{
		"--spacing: must be from 0.2 to 200 m, is 0.005",
		"--side-angle: must be from 0 to 45 degrees, is 80",
		"p.yaml:6:13: rows.headland: must be from 0 to 200 m, is NaN",
	}, told(p.Validate()))
}

func TestEcho(t *testing.T) {
	p, err := Parse("plan.yaml", []byte(kestrelRise))
	require.NoError(t, err)
	var got []string
	for _, e := range p.Echo() {
		if e.FromFile {
			got = append(got, fmt.Sprintf("%s.%s=%s", e.Section, e.Key, e.Text))
		}
	}
	assert.Equal(t, []string{
		".hemrow_plan=1", ".name=Kestrel Rise", ".units=us",
		"field.outline=kestrel-rise.geojson", "field.choose=Upper field",
		`field.obstacles=[ponds.geojson, "rocks, big.geojson"]`, "field.obstacle_mark=ground=pond",
		"field.swap_axes=yes", "field.strict=yes",
		"rows.spacing=4.8768 m", "rows.heading=along edge 3", "rows.first_row=3.5 m",
		"rows.longest_run=150 m", "rows.start_side=NW",
		"cover.covering=two sheets", "cover.film_thickness=76.2 um",
		"tape.tape_lines=2", "tape.tape_slack=3 %",
		"plants[1].plant=hazel", "plants[1].pitch=4 m", "plants[1].rows=1 of 2",
		"plants[2].plant=plum", "plants[2].pitch=3 m", "plants[2].start=1.6764 m", "plants[2].rows=2 of 2",
	}, got)
	assert.Len(t, p.Echo(), len(Keys())+len(plantKeys()), "every key once, those of plants twice")
}

// randomPlan draws a plan that any file could have given.
func randomPlan(t *rapid.T) Plan {
	p := Default()
	kind := rapid.SampledFrom(coverWords()).Draw(t, "kind")
	require.NoError(t, p.Override("covering", kind))
	words := rapid.StringOfN(rapid.RuneFrom([]rune(`abcäZ19 :#"'\&*![]{},|>%@-?~`)), 0, 12, -1)
	p.Rows.Plants = nil
	for range rapid.IntRange(0, 3).Draw(t, "plants") {
		p.Rows.Plants = append(p.Rows.Plants, rows.Planting{
			Plant: "x" + strings.TrimSpace(words.Draw(t, "plant")), PitchM: rapid.Float64Range(0.05, 1000).Draw(t, "pitch"),
			StartM: rapid.Float64Range(0, 1000).Draw(t, "start"), Every: 3, From: rapid.IntRange(1, 3).Draw(t, "from"),
		})
	}
	p.Name = strings.TrimSpace(words.Draw(t, "name"))
	p.Field.Outline = strings.TrimSpace(words.Draw(t, "outline"))
	for range rapid.IntRange(0, 3).Draw(t, "obstacles") {
		p.Field.Obstacles = append(p.Field.Obstacles, "x"+strings.TrimSpace(words.Draw(t, "obstacle")))
	}
	p.Field.Strict = rapid.Bool().Draw(t, "strict")
	p.Units = Units(rapid.IntRange(0, 1).Draw(t, "units"))
	p.Rows.SpacingM = rapid.Float64Range(0.2, 200).Draw(t, "spacing")
	p.Rows.TurnRadiusM = rapid.Float64Range(0, 50).Draw(t, "radius")
	p.Materials.Film.DensityKgM3 = rapid.Float64Range(100, 2000).Draw(t, "density")
	p.Materials.Seam.SafetyRatio = rapid.Float64Range(0.5, 10).Draw(t, "safety")
	switch rapid.IntRange(0, 2).Draw(t, "heading") {
	case 0:
		p.Rows.Heading = rows.Heading{Mode: rows.HeadingFixed, StepDeg: 1, Bearing: geo.NewBearing(rapid.Float64Range(0, 360).Draw(t, "bearing"))}
	case 1:
		p.Rows.Heading = rows.Heading{Mode: rows.HeadingEdge, StepDeg: 1, Edge: rapid.IntRange(1, 1000).Draw(t, "edge")}
	}
	if rapid.Bool().Draw(t, "fixed first row") {
		p.Rows.FirstRow = rows.FirstRow{Steps: 20, OffsetM: rapid.Float64Range(0, 1000).Draw(t, "offset")}
	}
	return bare(p)
}

// A plan written as a file, or as flags one by one, comes back the same.
func TestPlansReadBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		want := randomPlan(t)
		got, err := Parse("p.yaml", want.YAML())
		require.NoError(t, err, "%s", want.YAML())
		require.Equal(t, want, bare(got))

		flags := Default()
		flags.Rows.Plants = want.Rows.Plants
		for _, e := range want.Echo() {
			if k, ok := findKey(e.Key); ok && k.Flag {
				require.NoError(t, flags.Override(e.Key, e.Text))
			}
		}
		require.Equal(t, want, bare(flags))
	})
}

func FuzzParse(f *testing.F) {
	for _, s := range []string{
		"", "hemrow_plan: 1\n", kestrelRise, string(Default().YAML()),
		string(starter("f.geojson", "f", US, "feature 1")),
		"hemrow_plan: 1\nplants:\n  - {plant: \"x\\u00e9\", pitch: 4 m}\n",
		"hemrow_plan: 1\nrows: {heading: 37°, first_row: -0 m}\n",
		"{hemrow_plan: 1, name: 'it''s'}\n", "hemrow_plan: 1\nname: &a x\n",
		"hemrow_plan: 1\r\nname: \"\\U0001F330\"\r\n", "- - - a\n", "? x\n", "a: [b, {c: d}", "\xff",
	} {
		f.Add([]byte(s))
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		p, err := Parse("p.yaml", data)
		if err != nil {
			for _, e := range leaves(err) {
				var fault *Fault
				require.True(t, errors.As(e, &fault))
				assert.NotEmpty(t, fault.Problem)
			}
			return
		}
		again, err := Parse("p.yaml", p.YAML())
		require.NoError(t, err, "%s", p.YAML())
		require.Equal(t, bare(p), bare(again))
		require.Equal(t, p.YAML(), again.YAML())
	})
}

func ExampleParse() {
	_, err := Parse("plan.yaml", []byte(`hemrow_plan: 1
rows:
  spacing: 5
  headlands: 6 m
`))
	fmt.Println(err)

	p, err := Parse("plan.yaml", []byte(`hemrow_plan: 1
rows:
  spacing: 16 ft
  heading: along longest edge
`))
	fmt.Println(p.Rows.SpacingM, err)
	// Output:
	// plan.yaml:3:12: rows.spacing: "5" has no unit
	// plan.yaml:4:3: rows.headlands: is no key of a plan
	// 4.8768 <nil>
}

func ExamplePlan_Override() {
	p := Default()
	fmt.Println(p.Override("spacing", "4,5 m"))
	fmt.Println(p.Override("first-row", "best"))
	// Output:
	// --spacing: "4,5 m" has a comma
	// <nil>
}

func BenchmarkParse(b *testing.B) {
	for _, n := range []int{0, 100, 1000} {
		data := []byte(kestrelRise + strings.Repeat("  - {plant: currant, pitch: 1.5 m}\n", n))
		b.Run(fmt.Sprintf("plants=%d", n), func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				if _, err := Parse("p.yaml", data); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
