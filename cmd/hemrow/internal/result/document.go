package result

// Version is the version of the document this package writes and reads.
const Version = 1

// Document is the whole result of one run. See [Schema] for what each field
// holds.
type Document struct {
	HemrowResult int         `json:"hemrow_result"`
	Generator    Generator   `json:"generator"`
	Units        string      `json:"units"` // metric or us: how people want to read it; the document is metric
	Plan         []EchoLine  `json:"plan"`
	Inputs       []InputFile `json:"inputs"`
	Frame        Frame       `json:"frame"`
	Field        Field       `json:"field"`
	Terrain      *Terrain    `json:"terrain"` // null without a survey of heights
	// GradeStepsPct are the grades that stretches of a piece are told apart by.
	GradeStepsPct []float64 `json:"grade_steps_pct"`
	Totals        Totals    `json:"totals"`
	Blocks        []Block   `json:"blocks"`
	Plants        []Plant   `json:"plants"`
	Rows          []Row     `json:"rows"`
	Passes        []Pass    `json:"passes"`
	Takeoff       Takeoff   `json:"takeoff"`
	Notes         []Note    `json:"notes"`
}

// Generator is the program that made a document.
type Generator struct {
	Program string `json:"program"`
	Version string `json:"version"`
}

// EchoLine is one key of the plan as it was understood, defaults included.
type EchoLine struct {
	Section  string `json:"section"`
	Key      string `json:"key"`
	Text     string `json:"text"`
	FromFile bool   `json:"from_file"`
}

// InputFile is one file the run was made from.
type InputFile struct {
	File   string `json:"file"` // base name, or as named in the plan
	Format string `json:"format"`
	Role   string `json:"role"` // plan, outline, obstacle, …
	Bytes  int64  `json:"bytes"`
	SHA256 string `json:"sha256"`
}

// Frame describes the local metres.
type Frame struct {
	OriginLonDeg float64  `json:"origin_lon_deg"`
	OriginLatDeg float64  `json:"origin_lat_deg"`
	HeightM      *float64 `json:"height_m"`
	GroundFactor float64  `json:"ground_factor"`
	Statement    string   `json:"statement"`
}

// Shape is an area: its outer ring counter-clockwise, then holes clockwise,
// each closed.
type Shape struct {
	LonLat [][]Position `json:"lonlat"`
	Local  [][]XY       `json:"local"`
}

// Course is a line, or one point.
type Course struct {
	LonLat []Position `json:"lonlat"`
	Local  []XY       `json:"local"`
}

// Field is the surveyed ground.
type Field struct {
	Name          string     `json:"name"`
	AreaM2        float64    `json:"area_m2"` // inside the outlines, less their holes
	WorkingAreaM2 *float64   `json:"working_area_m2"`
	PerimeterM    float64    `json:"perimeter_m"` // of the outer rings
	Obstacles     []Obstacle `json:"obstacles"`
}

// Obstacle has either an area or a path.
type Obstacle struct {
	Name string  `json:"name"`
	Area *Shape  `json:"area"`
	Path *Course `json:"path"`
}

// Terrain is the lie of the land inside the outlines.
type Terrain struct {
	Method       string  `json:"method"` // how heights are found between the data
	LowestM      float64 `json:"lowest_m"`
	HighestM     float64 `json:"highest_m"`
	MeanM        float64 `json:"mean_m"`
	MeanSlopePct float64 `json:"mean_slope_pct"`
	Slope95Pct   float64 `json:"slope_95_pct"` // 95 % of the area is flatter
	CoveredPct   float64 `json:"covered_pct"`  // of the area
	// Levels are level lines about the field for maps, IntervalM apart in
	// height; none where it is level.
	IntervalM float64 `json:"interval_m"`
	Levels    []Level `json:"levels"`
}

// Level is a level line, or a piece of one, with the higher ground on its left.
type Level struct {
	HeightM float64    `json:"height_m"`
	LonLat  []Position `json:"lonlat"`
	Local   []XY       `json:"local"`
}

// Totals sums all blocks.
type Totals struct {
	Blocks     int     `json:"blocks"`
	Rows       int     `json:"rows"`
	Pieces     int     `json:"pieces"`
	PlanM      float64 `json:"plan_m"`
	GroundM    float64 `json:"ground_m"`
	LeftCount  int     `json:"left_count"`
	LeftM      float64 `json:"left_m"`
	PlainTurns int     `json:"plain_turns"`
	BulbTurns  int     `json:"bulb_turns"`
	Drives     int     `json:"drives"` // ways to rows that are no neighbours
	TurnPathM  float64 `json:"turn_path_m"`
	AheadPast  int     `json:"ahead_past"`
	AheadM     float64 `json:"ahead_m"`
	StationsNo int     `json:"stations_no"`
	WorstNote  string  `json:"worst_note"` // none, info, caution or serious
	CautionsNo int     `json:"cautions_no"`
	ShortestM  float64 `json:"shortest_m"` // plan length of the shortest piece laid, 0 without rows
	LongestM   float64 `json:"longest_m"`
	// OffTerrainM is plan length outside the terrain, all of it without one.
	OffTerrainM float64 `json:"off_terrain_m"`
}

// Block is one block of the field and what was decided for it.
type Block struct {
	Name          string   `json:"name"`
	AreaM2        float64  `json:"area_m2"`
	WorkingAreaM2 *float64 `json:"working_area_m2"`
	PerimeterM    float64  `json:"perimeter_m"`
	Style         string   `json:"style"`       // straight or contour: how its rows run
	HeadingDeg    float64  `json:"heading_deg"` // of the rows, from true north at the frame's origin; the mean of bent ones
	EndA          string   `json:"end_a"`       // the compass point of end A, by the heading where rows are bent; "" without rows
	EndB          string   `json:"end_b"`
	SpacingM      float64  `json:"spacing_m"`
	OffsetM       float64  `json:"offset_m"`
	FirstRowNo    int      `json:"first_row_no"` // 0 without rows
	LastRowNo     int      `json:"last_row_no"`
	Tally         Tally    `json:"tally"`
	Turning       Turning  `json:"turning"`
	CrossAlleyM   float64  `json:"cross_alley_m"` // width of each alley
	Alleys        []Course `json:"alleys"`
	Outline       Shape    `json:"outline"`
	WorkingArea   []Shape  `json:"working_area"` // empty where it was not drawn
	Curved        *Curved  `json:"curved"`       // null where only straight rows were asked for
}

// Tally sums the rows of a block.
type Tally struct {
	Rows       int     `json:"rows"`
	Pieces     int     `json:"pieces"`
	PlanM      float64 `json:"plan_m"`
	GroundM    float64 `json:"ground_m"`
	WorthScore float64 `json:"worth_score"` // what a search compares
	LeftCount  int     `json:"left_count"`
	LeftM      float64 `json:"left_m"`
}

// Turning sums the turns of a block.
type Turning struct {
	Skip      int     `json:"skip"`
	Plain     int     `json:"plain"`
	Bulb      int     `json:"bulb"`
	Drives    int     `json:"drives"` // ways to rows that are no neighbours
	PathM     float64 `json:"path_m"`
	NeedM     float64 `json:"need_m"`
	LongestM  float64 `json:"longest_m"`
	AheadPast int     `json:"ahead_past"`
	AheadM    float64 `json:"ahead_m"`
}

// Plant is one kind of plant set along the rows.
type Plant struct {
	Plant  string  `json:"plant"`
	PitchM float64 `json:"pitch_m"`
	StartM float64 `json:"start_m"`
	Every  int     `json:"every"`
	From   int     `json:"from"`
}

// Row is the centre line of one mulched bed.
type Row struct {
	Name    string  `json:"name"` // R001
	Number  int     `json:"number"`
	Block   string  `json:"block"`
	BlockNo int     `json:"block_no"` // from 1, in the order of blocks
	EndA    string  `json:"end_a"`
	EndB    string  `json:"end_b"`
	AcrossM float64 `json:"across_m"`
	Zone    int     `json:"zone"` // from 1 in its block; rows keep their distance within a zone
	Pieces  []Piece `json:"pieces"`
}

// Piece is an unbroken part of a row, from end A to end B.
type Piece struct {
	Name       string     `json:"name"` // R001, or R001.2 where the row has several
	Part       int        `json:"part"`
	PlanM      float64    `json:"plan_m"`
	GroundM    float64    `json:"ground_m"`
	Slope      *Slope     `json:"slope"`  // null without terrain
	Grades     []Grade    `json:"grades"` // from end A to end B; empty without terrain
	LineLonLat []Position `json:"line_lonlat"`
	LineLocal  []XY       `json:"line_local"`
	Stations   []Stations `json:"stations"`
}

// Slope is what the terrain says of a piece, on the raw surface. Grades are
// positive where the ground rises from end A to end B, side slopes where the
// left side is higher.
type Slope struct {
	LowestM      float64 `json:"lowest_m"`
	LowestAtM    float64 `json:"lowest_at_m"` // chainage along the ground from end A
	HighestM     float64 `json:"highest_m"`
	HighestAtM   float64 `json:"highest_at_m"`
	MeanGradePct float64 `json:"mean_grade_pct"` // of its absolute value
	ChordM       float64 `json:"chord_m"`        // over which the next two are taken
	GradePct     float64 `json:"grade_pct"`      // the steepest
	GradeAtM     float64 `json:"grade_at_m"`     // middle of that chord
	SidePct      float64 `json:"side_pct"`       // the greatest
	SideAtM      float64 `json:"side_at_m"`
	MeanSidePct  float64 `json:"mean_side_pct"` // of its absolute value
	OutsideM     float64 `json:"outside_m"`     // plan length without terrain, taken as level
}

// Stations are the places of one kind of plant on a piece; the three lists
// run side by side.
type Stations struct {
	Plant     string     `json:"plant"`
	PlantNo   int        `json:"plant_no"`   // from 1, in the order of plants
	ChainageM []float64  `json:"chainage_m"` // along the ground from end A
	LonLat    []Position `json:"lonlat"`
	Local     []XY       `json:"local"`
}

// Pass is one piece driven in one direction; passes stand in order of laying.
type Pass struct {
	Piece string  `json:"piece"`
	Row   int     `json:"row"` // number of the row
	Part  int     `json:"part"`
	FromB bool    `json:"from_b"`
	Turn  string  `json:"turn"`   // none, ahead, plain, bulb or drive
	TurnM float64 `json:"turn_m"` // way from the pass before
}

// Takeoff is everything counted.
type Takeoff struct {
	Cover      string     `json:"cover"`
	Quantities []Quantity `json:"quantities"`
	Pieces     []Take     `json:"pieces"`
}

// Quantity is one figure with everything needed to count it again by hand.
type Quantity struct {
	Key      string   `json:"key"`
	Name     string   `json:"name"`
	Value    float64  `json:"value"` //unit:see Unit
	Unit     string   `json:"unit"`
	Basis    string   `json:"basis"`
	Inputs   []Figure `json:"inputs"`
	Source   string   `json:"source"`
	Estimate bool     `json:"estimate"`
}

// Figure is one value that went into a quantity.
type Figure struct {
	Name  string  `json:"name"`
	Value float64 `json:"value"` //unit:see Unit
	Unit  string  `json:"unit"`
}

// Take is what one piece of row takes.
type Take struct {
	Piece    string  `json:"piece"`
	Row      int     `json:"row"`
	Part     int     `json:"part"`
	FilmCutM float64 `json:"film_cut_m"`
	FilmM2   float64 `json:"film_m2"`
	TrenchM  float64 `json:"trench_m"`
	TapeCutM float64 `json:"tape_cut_m"`
	StonesKg float64 `json:"stones_kg"`
	StonesNo int     `json:"stones_no"`
	ChipsM3  float64 `json:"chips_m3"`
	PlantsNo []int   `json:"plants_no"` // side by side with the document's plants
}

// Note tells the reader something about a number that stands.
type Note struct {
	Code     string  `json:"code"`
	Severity string  `json:"severity"` // info, caution or serious
	Place    string  `json:"place"`
	Text     string  `json:"text"`
	Hint     string  `json:"hint"`
	Value    float64 `json:"value"` //unit:see Unit
	Limit    float64 `json:"limit"` //unit:see Unit
	Unit     string  `json:"unit"`
}
