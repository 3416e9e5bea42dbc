package geo

// The tolerances of hemrow, all in one place, each with its derivation.
// A bare small number elsewhere is a fault.
const (
	// CoincidentM: points nearer than this are one point. A frame coordinate
	// of 50 km has a rounding step of 7e-12 m and a constructed crossing some
	// ten times that times the stretch of a grazing cut; 1 µm stands a
	// thousand times above that and a thousand times below the best survey
	// (1 mm).
	CoincidentM = 1e-6

	// ClearanceSlackM: a row is clear when its distance is at least the asked
	// one less this. A row laid along an edge at just the asked distance
	// misses it by rounding (1e-11 m) or by the projection (5e-9 m); a tenth
	// of a micrometre covers both and is far below the 1 mm that is promised.
	ClearanceSlackM = 1e-7

	// SurveySnapM: a ring's last point this near its first is the same corner
	// surveyed twice: the repeatability of a good receiver is 10 mm, halved so
	// that two corners meant to be apart stay so (common practice, no source).
	SurveySnapM = 0.005

	// CurveChordM: how far a straight segment of longitude and latitude may
	// stray from the row it stands for when rows are written in degrees.
	CurveChordM = 0.002

	// SpikeAngleDeg: an outline that turns back on itself by all but this
	// angle runs out and back: over 50 m its sides are 0.9 m apart, less than
	// a hand-held receiver tells (common practice, no source).
	SpikeAngleDeg = 1.0

	// NeedleWidthM: two sides of a corner this close run side by side as far
	// as the file can tell: two steps of 11 mm, the seventh decimal of a
	// degree, in which most outlines are exchanged.
	NeedleWidthM = 0.022

	// MendWidthM: a loop of an outline that is narrower than this on average
	// is survey noise, not ground: hand-held receivers stray by a metre
	// (common practice, no source).
	MendWidthM = 1.0

	// MendShareRatio: mending may change the area of an outline by less than
	// this; more is for the surveyor to decide: 1 % is what film is ordered over
	// and above at the least (common practice, no source).
	MendShareRatio = 0.01

	// CloseGapM: an open ring with a smaller gap was meant to be closed; so
	// was one whose gap is under three of its own median sides, two vertices
	// missed (common practice, no source).
	CloseGapM = 1.0

	// JoinGapM: ends of lines, and edges of blocks, nearer than this belong
	// together: no machine passes between them (common practice, no source).
	JoinGapM = 0.5

	// RunOnM: a log that goes on past its own start by no more than this was
	// stopped late: two seconds at 9 km/h (common practice, no source).
	RunOnM = 5.0

	// StandstillM and StandstillCount: so many vertices in a row, so near to
	// the first of them, that wander about are one place where the vehicle
	// stood. A receiver without correction strays by 0.1 to 0.3 m within a
	// minute; at a vertex a second and 0.1 m/s, slower than any round, no five
	// lie so near (common practice, no source).
	StandstillM     = 0.3
	StandstillCount = 5

	// ThinM: vertices of a drive log may be thinned while the outline strays
	// no farther than this, the noise of a good receiver (1 cm, common
	// practice, no source); ThinAreaRatio bounds the change of area.
	ThinM         = 0.01
	ThinAreaRatio = 1e-4

	// ArcErrorM: how far the straight chords of a round corner of a buffer
	// may run inside the true arc. It is the accuracy promised for
	// clearances, 1 mm, halved so that thinning the input can have the rest.
	ArcErrorM = 0.0005

	// OverlayM: how far a vertex made by an overlay of areas may lie from
	// where it should. A frame coordinate of 50 km has a rounding step of
	// 7e-12 m; snapping of nearly coincident edges has been seen to move
	// vertices by 1e-7 m (random overlays against an independent library).
	// Ten times that is one CoincidentM.
	OverlayM = CoincidentM

	// WholeSlackRatio: a count of whole rolls or loads is not raised for less
	// than this share of one. A compensated sum of a million lengths is exact
	// to 2e-16 of itself, and so is its quotient: for a million rolls 4e-10
	// of a roll. A billionth covers that and is a micrometre on a 1 km roll.
	WholeSlackRatio = 1e-9

	// MapErrorM: how far a terrain grid may seem shifted on the ground because
	// the way from the frame to its cells is fitted by a polynomial. On a
	// slope of 100 % a tenth of a millimetre is a tenth of a millimetre of
	// height, ten times below the 1 mm that is promised for lengths.
	MapErrorM = 1e-4

	// LatticeM: vertices of a triangulation are rounded to whole steps of it.
	// 2⁻³⁰ m is 0.9 nm, a thousandth of CoincidentM; coordinates up to 2097 km
	// are then whole numbers below 2⁵¹ and their differences free of rounding.
	LatticeM = 0x1p-30

	// SliverRatio: a triangle at the edge of a survey flatter than this (its
	// height over its side) lies between points meant to be in one line: over
	// a side of 30 m it is 0.3 m deep, and 2 cm of survey noise would tilt it
	// by 7 %, more than a row's grade (common practice, no source).
	SliverRatio = 0.01

	// RepeatZM: two surveyed heights of one place that differ by more are
	// worth a look: a good receiver repeats a height within 20 mm (one sigma),
	// two of them within 28 mm, and 3.5 times that is 0.1 m (common practice,
	// no source).
	RepeatZM = 0.1

	// DrapeZM: the straight pieces of a draped row may run this far above or
	// below the surface. It is half the repeatability of a good receiver,
	// 10 mm, as for SurveySnapM; lengths and chainages do not depend on it.
	DrapeZM = 0.005

	// AlignedRatio: cosines to the angle that divides sides from headlands differ
	// by less only by rounding: ends of a row are kept to 1e-10 m, which turns the
	// shortest piece of row, 1 m, by 1e-10, a tenth of this.
	AlignedRatio = 1e-9
)
