package plan

import (
	"hemrow/materials"
	"hemrow/rows"
)

// Version is the version of the plan file that this package reads and writes.
const Version = 1

// Kind says what a value is, and so how it is written.
type Kind string

// The kinds of values. Lengths, thicknesses and sizes take the same units.
const (
	KindVersion   Kind = "version"
	KindText      Kind = "text"
	KindPath      Kind = "path"
	KindPaths     Kind = "paths"
	KindChoice    Kind = "choice"
	KindBool      Kind = "yes or no"
	KindCount     Kind = "count"
	KindRatio     Kind = "ratio"
	KindLength    Kind = "length"    // metres in the spec
	KindThickness Kind = "thickness" // micrometres
	KindSize      Kind = "size"      // millimetres
	KindAngle     Kind = "angle"
	KindPercent   Kind = "percent"
	KindDensity   Kind = "density"
	KindSpeed     Kind = "speed"
	KindVolume    Kind = "volume"
	KindMass      Kind = "mass"
	KindHeading   Kind = "heading"
	KindFirstRow  Kind = "first row"
	KindLimit     Kind = "limit" // a length, or none
	KindRows      Kind = "rows"  // which rows get a plant
)

// Key is one key of the plan file that holds a value.
type Key struct {
	Section string // "" at the top of the file
	Name    string // found once in the whole file
	Kind    Kind
	Default string // as written in a plan file, in SI; "" if it must be given
	Help    string // one line for a grower
	Choices []string
	Flag    bool // a command-line flag of the same name may override it

	codec codec
}

// Path is the key with its section, such as rows.spacing.
func (k Key) Path() string {
	if k.Section == "" {
		return k.Name
	}
	return k.Section + "." + k.Name
}

// target is where a value goes: a plan, and for a plant its index there.
type target struct {
	plan  *Plan
	plant int
}

// Keys is the closed table of keys in the order of the file. Those of section
// plants stand once for every entry of that list.
func Keys() []Key {
	keys := table()
	def := Default()
	def.Rows.Plants = []rows.Planting{newPlanting()}
	for i := range keys {
		if !keys[i].required() {
			keys[i].Default = keys[i].codec.write(target{&def, 0})
		}
	}
	return keys
}

// sections are the sections in the order of the file, with a line on each.
func sections() [][2]string {
	return [][2]string{
		{"field", "The surveyed ground"},
		{"terrain", "The surveyed heights, if there are any"},
		{"rows", "Where the rows run"},
		{"contour", "What rows must keep that follow the land (style contour or best)"},
		{"cover", "What covers the ground along the rows"},
		{"trench", "The edge trench that holds the film (one sheet, two sheets)"},
		{"seam", "Stones on the seam along the tree line (two sheets)"},
		{"chips", "A strip of wood chips along the rows (chips)"},
		{"tape", "Drip tape under the cover"},
		{"plants", "What is planted along the rows, one entry for each kind"},
	}
}

func table() []Key {
	var t []Key
	for _, part := range [][]Key{
		topKeys(), fieldKeys(), terrainKeys(), rowKeys(), contourKeys(), coverKeys(), trenchKeys(),
		seamKeys(), chipKeys(), tapeKeys(), plantKeys(),
	} {
		t = append(t, part...)
	}
	return t
}

func topKeys() []Key {
	return []Key{
		{Name: "hemrow_plan", Kind: KindVersion, Help: "version of the plan file", codec: versionCodec{}},
		{Name: "name", Kind: KindText, Flag: true, Help: "name of the plan on sheets and lists", codec: text(func(p *Plan) *string { return &p.Name })},
		{Name: "units", Kind: KindChoice, Flag: true, Choices: []string{"metric", "us"}, Help: "how results are printed", codec: unitsCodec{}},
	}
}

func fieldKeys() []Key {
	s := "field"
	return []Key{
		{Section: s, Name: "outline", Kind: KindPath, Flag: true, Help: "file with the field's outline, seen from this file's folder", codec: text(func(p *Plan) *string { return &p.Field.Outline })},
		{Section: s, Name: "choose", Kind: KindText, Flag: true, Help: "feature to plan: a name, an id, a number, or all", codec: text(func(p *Plan) *string { return &p.Field.Choose })},
		{Section: s, Name: "obstacles", Kind: KindPaths, Flag: true, Help: "more files, with ground to keep clear of", codec: pathsCodec{func(p *Plan) *[]string { return &p.Field.Obstacles }}},
		{Section: s, Name: "obstacle_mark", Kind: KindText, Flag: true, Help: "features with this property are obstacles", codec: text(func(p *Plan) *string { return &p.Field.ObstacleMark })},
		{Section: s, Name: "crs", Kind: KindText, Flag: true, Help: "reference system of the outline, such as EPSG:25832; \"\" follows the file", codec: text(func(p *Plan) *string { return &p.Field.CRS })},
		{Section: s, Name: "datum_grid", Kind: KindPath, Flag: true, Help: "file of datum shifts (NTv2, .gsb) to use instead of published parameters", codec: text(func(p *Plan) *string { return &p.Field.DatumGrid })},
		{Section: s, Name: "layer", Kind: KindText, Flag: true, Help: "layer of an archive or folder that holds several", codec: text(func(p *Plan) *string { return &p.Field.Layer })},
		{Section: s, Name: "columns", Kind: KindText, Flag: true, Help: "columns of a list of points, such as PNEZD; \"\" follows its header", codec: text(func(p *Plan) *string { return &p.Field.Columns })},
		{Section: s, Name: "swap_axes", Kind: KindBool, Flag: true, Help: "the file has latitude before longitude, or northing before easting", codec: yesNo(func(p *Plan) *bool { return &p.Field.SwapAxes })},
		{Section: s, Name: "close_lines", Kind: KindBool, Flag: true, Help: "take closed lines as outlines", codec: yesNo(func(p *Plan) *bool { return &p.Field.CloseLines })},
		{Section: s, Name: "split_crossings", Kind: KindBool, Flag: true, Help: "split an outline that crosses itself", codec: yesNo(func(p *Plan) *bool { return &p.Field.SplitCrossings })},
		{Section: s, Name: "strict", Kind: KindBool, Flag: true, Help: "refuse an outline that needs any repair", codec: yesNo(func(p *Plan) *bool { return &p.Field.Strict })},
	}
}

func terrainKeys() []Key {
	s := "terrain"
	q := quantities(s)
	word := func(name, help string, words []string, at func(*Plan) *string) Key {
		return Key{Section: s, Name: name, Kind: KindChoice, Flag: true, Choices: words, Help: help, codec: choice{words, at}}
	}
	return []Key{
		{Section: s, Name: "heights", Kind: KindPaths, Flag: true, Help: "files of heights: grids, survey points, contour lines; [a, b] for several", codec: pathsCodec{func(p *Plan) *[]string { return &p.Terrain.Heights }}},
		{Section: s, Name: "break_lines", Kind: KindPaths, Flag: true, Help: "files of lines with heights along which the ground bends", codec: pathsCodec{func(p *Plan) *[]string { return &p.Terrain.BreakLines }}},
		{Section: s, Name: "heights_crs", Kind: KindText, Flag: true, Help: "their reference system, where the files do not say", codec: text(func(p *Plan) *string { return &p.Terrain.CRS })},
		{Section: s, Name: "height_columns", Kind: KindText, Flag: true, Help: "columns of a list of survey points, such as PNEZD", codec: text(func(p *Plan) *string { return &p.Terrain.Columns })},
		word("height_unit", "unit of the heights; \"\" follows the files", heightUnits(), func(p *Plan) *string { return &p.Terrain.Unit }),
		word("between_cells", "how heights between the cells of a grid are found", []string{"bilinear", "bicubic"}, func(p *Plan) *string { return &p.Terrain.Between }),
		{Section: s, Name: "longest_side", Kind: KindLimit, Flag: true, Choices: []string{"auto"}, Help: "triangles with longer sides at the rim of a survey are left out; auto for five usual sides", codec: limitCodec{"auto", func(p *Plan) *float64 { return &p.Terrain.LongestSideM }}},
		q("grade_chord", KindLength, "length over which the grade of rows is taken", func(p *Plan) *float64 { return &p.Rows.GradeChordM }),
		{Section: s, Name: "alley_cover", Kind: KindBool, Flag: true, Help: "alleys are kept in grass or another cover against erosion", codec: yesNo(func(p *Plan) *bool { return &p.Rows.AlleyCover })},
	}
}

func rowKeys() []Key {
	q := quantities("rows")
	return []Key{
		q("spacing", KindLength, "from row to row, centre to centre", func(p *Plan) *float64 { return &p.Rows.SpacingM }),
		{Section: "rows", Name: "style", Kind: KindChoice, Flag: true, Choices: styleWords(), Help: "contour follows the land, best takes what scores better", codec: styleCodec{}},
		{Section: "rows", Name: "heading", Kind: KindHeading, Flag: true, Choices: []string{"search", "along longest edge"}, Help: "search, along longest edge, along edge 3, or a bearing", codec: headingCodec{}},
		q("heading_step", KindAngle, "between the bearings that a search tries", func(p *Plan) *float64 { return &p.Rows.Heading.StepDeg }),
		{Section: "rows", Name: "first_row", Kind: KindFirstRow, Flag: true, Choices: []string{"best"}, Help: "best, or its distance from the block's outermost corner", codec: firstRowCodec{}},
		{Section: "rows", Name: "first_row_steps", Kind: KindCount, Flag: true, Help: "places tried within one spacing for the best first row", codec: count(func(p *Plan) *int { return &p.Rows.FirstRow.Steps })},
		q("headland", KindLength, "kept free at row ends to turn on", func(p *Plan) *float64 { return &p.Rows.HeadlandM }),
		q("side_clearance", KindLength, "from the outermost rows to edges beside them", func(p *Plan) *float64 { return &p.Rows.SideM }),
		q("obstacle_clearance", KindLength, "from rows to ponds, rocks and other obstacles", func(p *Plan) *float64 { return &p.Rows.ObstacleM }),
		q("side_angle", KindAngle, "edges nearer to the rows' heading than this are sides", func(p *Plan) *float64 { return &p.Rows.SideAngleDeg }),
		q("shortest_row", KindLength, "shorter pieces of row are left out", func(p *Plan) *float64 { return &p.Rows.ShortestM }),
		{Section: "rows", Name: "longest_run", Kind: KindLimit, Flag: true, Choices: []string{"none"}, Help: "longer rows are divided by cross alleys; none for no limit", codec: limitCodec{"none", func(p *Plan) *float64 { return &p.Rows.LongestM }}},
		q("cross_alley", KindLength, "width of such a cross alley", func(p *Plan) *float64 { return &p.Rows.CrossAlleyM }),
		{Section: "rows", Name: "start_side", Kind: KindChoice, Flag: true, Choices: compassWords(), Help: "side to start laying from (\"\" where row 1 is)", codec: choice{compassWords(), func(p *Plan) *string { return &p.Rows.StartSide }}},
		q("turn_radius", KindLength, "tightest turn of the tractor with its implement", func(p *Plan) *float64 { return &p.Rows.TurnRadiusM }),
		q("piece_cost", KindLength, "length of row that one more turn and two ends are worth", func(p *Plan) *float64 { return &p.Rows.PieceCostM }),
	}
}

func contourKeys() []Key {
	s := "contour"
	q := quantities(s)
	c := func(f func(*rows.Curving) *float64) func(*Plan) *float64 {
		return func(p *Plan) *float64 { return f(&p.Rows.Curving) }
	}
	return []Key{
		q("grade_limit", KindPercent, "steepest grade along a row", c(func(c *rows.Curving) *float64 { return &c.GradePct })),
		{Section: s, Name: "half_slope", Kind: KindBool, Flag: true, Help: "and no steeper than half the slope of the land", codec: yesNo(func(p *Plan) *bool { return &p.Rows.Curving.HalfSlope })},
		q("target_fall", KindPercent, "fall along the rows to aim at, 0 % for level rows", c(func(c *rows.Curving) *float64 { return &c.TargetPct })),
		{Section: s, Name: "fall_to", Kind: KindChoice, Flag: true, Choices: compassWords(), Help: "side of the field that rows fall to, where the outlet is", codec: choice{compassWords(), func(p *Plan) *string { return &p.Rows.Curving.TargetSide }}},
		q("narrowest_spacing", KindPercent, "least distance of neighbouring rows, of the spacing", c(func(c *rows.Curving) *float64 { return &c.NarrowPct })),
		q("widest_spacing", KindPercent, "greatest distance of them", c(func(c *rows.Curving) *float64 { return &c.WidePct })),
		{Section: s, Name: "mower_alley", Kind: KindLimit, Flag: true, Choices: []string{"none"}, Help: "least ground between covers, for the mower; none for no limit", codec: limitCodec{"none", func(p *Plan) *float64 { return &p.Rows.Curving.AlleyM }}},
		q("tightest_curve", KindLength, "smallest radius that the laying machine can follow", c(func(c *rows.Curving) *float64 { return &c.RadiusM })),
		q("edge_strain", KindPercent, "most that a curve may stretch the film's edge", c(func(c *rows.Curving) *float64 { return &c.StrainPct })),
		q("curve_error", KindLength, "how far the line of a row may stray from its curve", c(func(c *rows.Curving) *float64 { return &c.ChordErrM })),
		q("guide_error", KindLength, "how far rows may stray from one curve repeated", c(func(c *rows.Curving) *float64 { return &c.GuideErrM })),
	}
}

// compassWords are the sides of a field, "" for none.
func compassWords() []string { return []string{"", "N", "NE", "E", "SE", "S", "SW", "W", "NW"} }

func coverKeys() []Key {
	q := quantities("cover")
	film := func(f func(*materials.Film) *float64) func(*Plan) *float64 {
		return func(p *Plan) *float64 { return f(&p.Materials.Film) }
	}
	return []Key{
		{Section: "cover", Name: "covering", Kind: KindChoice, Flag: true, Choices: coverWords(), Help: "what covers the rows", codec: coverCodec{}},
		q("film_width", KindLength, "of one sheet as it comes off the roll", film(func(f *materials.Film) *float64 { return &f.WidthM })),
		q("film_thickness", KindThickness, "thickness of the film", film(func(f *materials.Film) *float64 { return &f.ThicknessUm })),
		q("film_density", KindDensity, "density of the film", film(func(f *materials.Film) *float64 { return &f.DensityKgM3 })),
		q("roll_length", KindLength, "film on one roll", film(func(f *materials.Film) *float64 { return &f.RollM })),
		q("edge_tuck", KindLength, "film width that burying one edge takes", film(func(f *materials.Film) *float64 { return &f.TuckM })),
		q("seam_lap", KindLength, "overlap of two sheets at the seam", film(func(f *materials.Film) *float64 { return &f.LapM })),
		q("end_tuck", KindLength, "film length buried at each end of a piece of row", film(func(f *materials.Film) *float64 { return &f.EndTuckM })),
		q("film_waste", KindPercent, "ordered above the cut length", film(func(f *materials.Film) *float64 { return &f.WastePct })),
		q("bed_width", KindLength, "ground to be covered between the buried edges", film(func(f *materials.Film) *float64 { return &f.BedWidthM })),
		q("lift_limit", KindMass, "heavier rolls and stones get a caution", film(func(f *materials.Film) *float64 { return &f.LiftLimitKg })),
		q("thin_film", KindThickness, "thinner film gets a caution on rows that stay for years", film(func(f *materials.Film) *float64 { return &f.ThinFilmUm })),
	}
}

func trenchKeys() []Key {
	q := quantities("trench")
	return []Key{
		q("trench_depth", KindLength, "depth of the edge trench", func(p *Plan) *float64 { return &p.Materials.Trench.DepthM }),
		q("trench_width", KindLength, "width of the edge trench", func(p *Plan) *float64 { return &p.Materials.Trench.WidthM }),
		q("soil_swell", KindPercent, "how much dug soil grows in volume", func(p *Plan) *float64 { return &p.Materials.Trench.SwellPct }),
		{Section: "trench", Name: "soil", Kind: KindText, Flag: true, Help: "the soil in words, for the lists", codec: text(func(p *Plan) *string { return &p.Materials.Trench.Soil })},
	}
}

func seamKeys() []Key {
	q := quantities("seam")
	return []Key{
		q("wind", KindSpeed, "mean wind at 10 m height that the seam must hold in", func(p *Plan) *float64 { return &p.Materials.Seam.WindMS }),
		q("roughness", KindLength, "aerodynamic roughness length of the ground", func(p *Plan) *float64 { return &p.Materials.Seam.RoughnessM }),
		{Section: "seam", Name: "safety", Kind: KindRatio, Flag: true, Help: "times the wind's pull that the stones must hold", codec: ratio(func(p *Plan) *float64 { return &p.Materials.Seam.SafetyRatio })},
		q("stone_size", KindSize, "diameter of the stones, taken as balls", func(p *Plan) *float64 { return &p.Materials.Seam.StoneMM }),
		q("stone_density", KindDensity, "density of the stone", func(p *Plan) *float64 { return &p.Materials.Seam.StoneKgM3 }),
		q("stone_gap", KindLength, "widest gap between stones, whatever the wind", func(p *Plan) *float64 { return &p.Materials.Seam.MostApartM }),
	}
}

func chipKeys() []Key {
	q := quantities("chips")
	return []Key{
		q("strip_width", KindLength, "width of the strip", func(p *Plan) *float64 { return &p.Materials.Chips.WidthM }),
		q("chip_depth", KindLength, "depth of chips when laid and settled", func(p *Plan) *float64 { return &p.Materials.Chips.DepthM }),
		q("chip_bulk", KindDensity, "mass of a volume of loose chips", func(p *Plan) *float64 { return &p.Materials.Chips.BulkKgM3 }),
		q("load_volume", KindVolume, "what one lorry brings", func(p *Plan) *float64 { return &p.Materials.Chips.LoadM3 }),
		q("yearly_loss", KindLength, "depth lost in a year, to be topped up", func(p *Plan) *float64 { return &p.Materials.Chips.TopUpM }),
		q("settling", KindPercent, "ordered above the laid volume, for settling", func(p *Plan) *float64 { return &p.Materials.Chips.SettlePct }),
	}
}

func tapeKeys() []Key {
	q := quantities("tape")
	return []Key{
		{Section: "tape", Name: "tape_lines", Kind: KindCount, Flag: true, Help: "drip tapes along each row, 0 for none", codec: count(func(p *Plan) *int { return &p.Materials.Tape.LinesCount })},
		q("tape_end", KindLength, "extra tape at each end of a piece of row", func(p *Plan) *float64 { return &p.Materials.Tape.EndM }),
		q("tape_slack", KindPercent, "extra for snaking and heat", func(p *Plan) *float64 { return &p.Materials.Tape.SlackPct }),
		q("tape_roll", KindLength, "tape on one roll", func(p *Plan) *float64 { return &p.Materials.Tape.RollM }),
		q("tape_inside", KindSize, "inside diameter of the tape", func(p *Plan) *float64 { return &p.Materials.Tape.InsideMM }),
		q("tape_wall", KindThickness, "thickness of its wall", func(p *Plan) *float64 { return &p.Materials.Tape.WallUm }),
		q("tape_density", KindDensity, "density of its plastic", func(p *Plan) *float64 { return &p.Materials.Tape.DensityKgM3 }),
	}
}

// plantKeys have no flags: there may be several plants.
func plantKeys() []Key {
	s := "plants"
	return []Key{
		{Section: s, Name: "plant", Kind: KindText, Help: "name of the plant", codec: textAt(func(t target) *string { return &t.planting().Plant })},
		{Section: s, Name: "pitch", Kind: KindLength, Help: "from plant to plant along the ground", codec: quantity{KindLength, func(t target) *float64 { return &t.planting().PitchM }}},
		{Section: s, Name: "start", Kind: KindLength, Help: "from the end of the row to the first plant, at least", codec: quantity{KindLength, func(t target) *float64 { return &t.planting().StartM }}},
		{Section: s, Name: "rows", Kind: KindRows, Choices: []string{"all"}, Help: "all, or 2 of 3 for the second of every three rows", codec: rowsCodec{}},
	}
}

// quantities makes the keys of a section that are a number with a unit.
func quantities(section string) func(name string, kind Kind, help string, at func(*Plan) *float64) Key {
	return func(name string, kind Kind, help string, at func(*Plan) *float64) Key {
		return Key{
			Section: section, Name: name, Kind: kind, Help: help, Flag: true,
			codec: quantity{kind, func(t target) *float64 { return at(t.plan) }},
		}
	}
}
