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
	// surveyed twice (formats sheet, trap 2: 5 mm, common practice).
	SurveySnapM = 0.005

	// CurveChordM: how far a straight segment of longitude and latitude may
	// stray from the row it stands for when rows are written in degrees.
	CurveChordM = 0.002
)
