package result

// Curved is how rows of a block that follow the land compare with straight
// ones. Grades are those of the surface as surveyed.
type Curved struct {
	Limits Limits `json:"limits"`
	Laid   string `json:"laid"`   // the method of the rows laid
	Why    string `json:"why"`    // one sentence with figures
	Passed bool   `json:"passed"` // the best was passed over, since the plan asks for bent rows
	Slight bool   `json:"slight"` // bent rows gain little
	// Depth says why one guide cannot serve the block, where rows begin anew,
	// and DepthM how far to either side it could.
	Depth      string      `json:"depth"`
	DepthM     float64     `json:"depth_m"`
	Partly     string      `json:"partly"`     // says that some of the ground is unknown, "" if none is
	Candidates []Candidate `json:"candidates"` // straight rows first
	Repeat     *Repeat     `json:"repeat"`     // null where no curve can be repeated
}

// Limits are what the rows of a block were asked to keep.
type Limits struct {
	SpacingM    float64 `json:"spacing_m"`
	NarrowM     float64 `json:"narrow_m"` // the least distance to the next row
	WideM       float64 `json:"wide_m"`   // and the greatest
	GradePct    float64 `json:"grade_pct"`
	HalfSlope   bool    `json:"half_slope"`  // and no steeper than half the slope of the land
	TargetPct   float64 `json:"target_pct"`  // fall aimed at, 0 for level rows
	TargetSide  string  `json:"target_side"` // the compass point that rows fall to, "" for level rows
	ChordM      float64 `json:"chord_m"`     // over which grades are taken
	RadiusM     float64 `json:"radius_m"`
	ShortestM   float64 `json:"shortest_m"`
	GapM        float64 `json:"gap_m"`         // least gap where a row is broken
	PieceCostM  float64 `json:"piece_cost_m"`  // of row, for one more piece
	ChordErrorM float64 `json:"chord_error_m"` // how far a row's line may stray from its curve
	FilmM       float64 `json:"film_m"`        // width of one sheet, 0 without film
}

// Candidate is what one way of laying rows made of a block. Shares are of the
// length of its rows unless it is said otherwise.
type Candidate struct {
	Method        string  `json:"method"`
	Laid          bool    `json:"laid"`
	GoodM2        float64 `json:"good_m2"` // served by rows inside every limit
	AreaM2        float64 `json:"area_m2"` // open to rows as if there were no headlands
	GoodPct       float64 `json:"good_pct"`
	CoverPct      float64 `json:"cover_pct"` // length times spacing over that area
	Score         float64 `json:"score"`     // the good share of the area less the price of the pieces
	PiecesNo      int     `json:"pieces_no"`
	ShortNo       int     `json:"short_no"`
	LeftCount     int     `json:"left_count"` // pieces left out for being short
	LeftM         float64 `json:"left_m"`
	LengthM       float64 `json:"length_m"`
	WorstGradePct float64 `json:"worst_grade_pct"`
	Grade995Pct   float64 `json:"grade_995_pct"` // only 1 part in 200 of the length is steeper
	OnGradePct    float64 `json:"on_grade_pct"`  // of the length with known ground
	NoGroundPct   float64 `json:"no_ground_pct"`
	FallMeanPct   float64 `json:"fall_mean_pct"` // towards the side aimed at, 0 without one
	FallOKPct     float64 `json:"fall_ok_pct"`   // falls there as asked for
	// Distances to the next row: the least, what 1 in 200 sides of rows that have
	// a neighbour is nearer than, the mean, what 1 in 200 is farther than.
	SpacingLeastM float64 `json:"spacing_least_m"`
	SpacingLowM   float64 `json:"spacing_low_m"`
	SpacingMeanM  float64 `json:"spacing_mean_m"`
	SpacingHighM  float64 `json:"spacing_high_m"`
	InWindowPct   float64 `json:"in_window_pct"`
	// TightestM is the tightest radius, null where no row bends; StrainPct that
	// of the film's edge there.
	TightestM *float64 `json:"tightest_m"`
	StrainPct float64  `json:"strain_pct"`
	GapsNo    int      `json:"gaps_no"` // places where rows are broken
	Gaps      []Gap    `json:"gaps"`    // listed for the rows laid
	Rejected  string   `json:"rejected"`
	Warnings  []string `json:"warnings"`
}

// Gap is a place where a row was broken.
type Gap struct {
	LonLat Position `json:"lonlat"`
	Local  XY       `json:"local"`
	AskedM *float64 `json:"asked_m"` // the radius asked there, null where it only opens a ring
	GapM   float64  `json:"gap_m"`   // taken out of the row
}

// Repeat is what a receiver can do that takes one curve and repeats it at the
// spacing of the block.
type Repeat struct {
	Guide     Course  `json:"guide"`
	FirstPass int     `json:"first_pass"` // passes left of the guide's direction are positive
	LastPass  int     `json:"last_pass"`  // below the first where no pass serves
	WorstM    float64 `json:"worst_m"`    // how far rows of those passes lie from them
	ServedM   float64 `json:"served_m"`
	ServedPct float64 `json:"served_pct"`
	OtherM    float64 `json:"other_m"` // how far any row lies from its pass
	Whole     bool    `json:"whole"`
	Text      string  `json:"text"`
}

// Grade is a stretch of a piece whose grade stays within one step.
type Grade struct {
	FromM     float64 `json:"from_m"` // along the ground from end A
	ToM       float64 `json:"to_m"`
	FromPlanM float64 `json:"from_plan_m"` // the same places along line_local
	ToPlanM   float64 `json:"to_plan_m"`
	Step      int     `json:"step"` // how many of the document's grade_steps_pct it exceeds; -1 without terrain
	GradePct  float64 `json:"grade_pct"`
}
