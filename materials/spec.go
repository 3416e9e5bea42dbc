package materials

// CoverKind is how the ground along a row is covered.
type CoverKind int

// The covers.
const (
	// NoCover counts no film and no chips.
	NoCover CoverKind = iota
	// OneSheet is laid before planting across the whole bed, both edges buried.
	OneSheet
	// TwoSheet is laid where trees stand: two half-width sheets that lap along
	// the tree line (the seam, held by stones), outer edges buried.
	TwoSheet
	// Chips are wood chips in a strip.
	Chips
)

// String is the word of the plan file.
func (k CoverKind) String() string {
	words := [...]string{"none", "one sheet", "two sheets", "chips"}
	if k < 0 || int(k) >= len(words) {
		return "unknown"
	}
	return words[k]
}

// Spec is everything a grower decides about what goes on and along the rows.
type Spec struct {
	Cover  CoverKind
	Film   Film
	Trench Trench
	Seam   Seam
	Chips  ChipStrip
	Tape   Tape
}

// Film is the sheet as sold and how it is laid. All widths across the row.
type Film struct {
	WidthM      float64 // of one sheet as it comes off the roll
	ThicknessUm float64 // micrometres
	DensityKgM3 float64
	RollM       float64 // length on one roll
	TuckM       float64 // width consumed by burying one edge
	LapM        float64 // overlap at the seam, two sheets only
	EndTuckM    float64 // length consumed at each end of a piece
	WastePct    float64 // of the cut length
	BedWidthM   float64 // ground to be covered between the buried edges
	LiftLimitKg float64 // one person, ideal conditions
	ThinFilmUm  float64 // thinner than this gets a caution on perennial rows
}

// Trench is the edge trench along each buried edge.
type Trench struct {
	DepthM   float64
	WidthM   float64
	SwellPct float64 // bank to loose
	Soil     string  // in words, for the basis
}

// Seam is what holds the lap of two sheets down.
type Seam struct {
	WindMS      float64 // mean wind at 10 m that it must hold in
	RoughnessM  float64 // aerodynamic roughness length of the ground
	SafetyRatio float64
	StoneMM     float64 // diameter of the stones, as a sphere
	StoneKgM3   float64 // density of the stone
	MostApartM  float64 // widest gap between stones, whatever the wind
}

// ChipStrip is a strip of wood chips along the rows.
type ChipStrip struct {
	WidthM    float64
	DepthM    float64
	BulkKgM3  float64
	LoadM3    float64 // of one lorry
	TopUpM    float64 // depth lost in a year
	SettlePct float64 // ordered above the laid volume, for settling
}

// Tape is the drip tape under the cover.
type Tape struct {
	LinesCount int     // per row, 0 for none
	EndM       float64 // extra at each end of a piece for fittings and flushing
	SlackPct   float64 // extra for snaking and heat
	RollM      float64 // length on one roll

	// InsideMM is the inside diameter, WallUm the wall and DensityKgM3 the
	// plastic; the mass of tape is not counted while any of them is 0.
	InsideMM    float64
	WallUm      float64
	DensityKgM3 float64
}

// film tells whether a sheet of film is laid.
func (s Spec) film() bool { return s.Cover == OneSheet || s.Cover == TwoSheet }

// sheets is the number of sheets side by side in a row.
func (s Spec) sheets() int {
	switch s.Cover {
	case OneSheet:
		return 1
	case TwoSheet:
		return 2
	default:
		return 0
	}
}

// CoveredM is the width of ground covered between the buried edges, in metres;
// 0 without film.
//
//	one sheet:  w - 2 tuck          two sheets:  2 w - lap - 2 tuck
//
// Source: K-State Research and Extension, Laying Plastic Mulch, for one sheet;
// the geometry of the section for two.
func (s Spec) CoveredM() float64 {
	f := s.Film
	switch s.Cover {
	case OneSheet:
		return f.WidthM - 2*f.TuckM
	case TwoSheet:
		return 2*f.WidthM - f.LapM - 2*f.TuckM
	default:
		return 0
	}
}
