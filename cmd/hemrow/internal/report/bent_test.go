package report

import (
	"fmt"
	"math"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/paulmach/orb"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hemrow/cmd/hemrow/internal/result"
	"hemrow/geo"
	"hemrow/rows"
	"hemrow/rows/contour"
)

// arc is points on a circle about (x, y), from one bearing to another.
func arc(x, y, r, fromDeg, toDeg float64, parts int) []orb.Point {
	out := make([]orb.Point, parts+1)
	for i := range out {
		e, n := geo.Bearing(fromDeg + (toDeg-fromDeg)*float64(i)/float64(parts)).Unit()
		out[i] = orb.Point{x + r*e, y + r*n}
	}
	return out
}

// bentDocument is laid by hand, so that golden files depend on nothing else:
// three arcs about the middle of the south side, and two straight rows beside
// them in a zone of their own.
func bentDocument(t testing.TB, units string) result.Document {
	t.Helper()
	f := frameAt(t, -18.4, 47.2).WithHeight(215)
	l := rows.Layout{Field: geo.Field{Name: "Kestrel Rise", Frame: f, Blocks: []geo.Block{{Name: "Lower Rise", Outline: box(-90, -10, 90, 80)}}}, Spec: rows.DefaultSpec()}
	l.Spec.SpacingM, l.Spec.Style = 10, rows.StyleBest
	add := func(zone int, pieces ...[]orb.Point) {
		r := rows.Row{Number: len(l.Rows) + 1, Zone: zone, EndA: geo.West, EndB: geo.East, AcrossM: 10 * float64(len(l.Rows))}
		for i, pts := range pieces {
			line := geo.NewLine(f, pts)
			third := line.GroundM() / 3
			r.Pieces = append(r.Pieces, rows.Piece{Part: i + 1, Line: line, PlanM: line.PlanM(f), GroundM: line.GroundM(), Grades: []rows.GradeRun{
				{FromM: 0, ToM: third, Step: len(l.Rows), GradePct: 0.5}, {FromM: third, ToM: 2 * third, Step: i + 1, GradePct: -1.5}, {FromM: 2 * third, ToM: line.GroundM(), Step: -1},
			}})
		}
		l.Rows = append(l.Rows, r)
	}
	for _, r := range []float64{40, 50} {
		add(1, arc(0, 0, r, 270, 450, 48))
	}
	add(1, arc(0, 0, 60, 270, 350, 24), arc(0, 0, 60, 370, 450, 24))
	add(2, []orb.Point{{-75, 0}, {-75, 70}})
	add(2, []orb.Point{{75, 0}, {75, 70}})
	lim := contour.Defaults(10)
	lim.HalfSlope = true
	score := func(onGrade, good, j, worst, low, high, radius float64, pieces int) contour.Layout {
		return contour.Layout{Score: contour.Score{
			AreaM2: 15000, GoodRatio: good, JRatio: j, CoverRatio: 0.98, Pieces: pieces, Short: 1, LengthM: 1400, GradeMaxRatio: worst, Grade995Ratio: worst,
			OnGradeRatio: onGrade, SpacingLeastM: low, SpacingMinM: low, SpacingMeanM: 10, SpacingMaxM: high, InWindowRatio: 0.97, RadiusMinM: radius,
		}}
	}
	l.Blocks = []rows.Block{{
		Name: "Lower Rise", Bent: true, Heading: 90, FirstRow: 1, RowCount: 5, Tally: rows.Tally{Rows: 5, Pieces: 6, PlantedM: 590},
		Turning: rows.Turning{Skip: 1, Plain: 3, Drives: 1, PathM: 160, NeedM: 5, LongestM: 52},
		Curved: &rows.Curved{
			Limits: lim,
			Choice: contour.Choice{
				Winner: 3, Why: "Rows of a field with restarts win: 1.20 of 1.50 ha lie inside every limit against 0.60 ha with straight rows.",
				Depth: "Rows begin anew once: no single run of rows keeps every limit over the whole area.",
				Candidates: []contour.Candidate{
					{Method: contour.Straight, GoodHa: 0.6, Layout: score(0.417, 0.4, 0.38, 0.123, 10, 10, math.Inf(1), 9)},
					{Method: contour.ByGuide, GoodHa: 1.1, Layout: score(0.85, 0.733, 0.7, 0.05, 9.3, 11.2, 22.04, 10), Rejected: "its rows cover 80.0 % of what straight rows cover once they are broken where too tight, under 90 %"},
					{Method: contour.ByField, GoodHa: 1, Layout: score(0.81, 0.667, 0.64, 0.061, 8.4, 12.6, 20.1, 10)},
					{
						Method: contour.Restarted, GoodHa: 1.2, Layout: score(0.9, 0.8, 0.762, 0.0349, 9.1, 11.4, 20.5, 12),
						Gaps: []contour.Gap{{Number: 3, At: orb.Point{0, 60}, RadiusM: 12.3, GapM: 20.8}, {Number: 4, At: orb.Point{-75, 35}, RadiusM: math.Inf(1), GapM: 4}},
					},
				},
			},
			Repeat: contour.Repeat{Guide: orb.LineString{{-60, -40}, {-60, 0}, {0, 60}, {60, 0}, {60, -40}}, Last: 2, WorstM: 0.05, ServedM: 430, ServedRatio: 0.73, OtherM: 9, Text: "one curve repeated cannot serve all rows within 0.10 m (up to 9.0 m off): use it for passes +0 to +2 only"},
		},
	}}
	why := l.Blocks[0].Curved.Choice.Why
	d, err := result.New(result.Input{
		Program: "hemrow", Version: "v0.1.0", Units: units, Field: l.Field, Layout: l, WorkingAreas: []orb.MultiPolygon{{box(-84, -1, 84, 74)}},
		Notes: geo.Notes{
			{Code: geo.NoteRowsBent, Severity: geo.Info, Place: "block Lower Rise", Text: why},
			{Code: geo.NoteBentWorse, Severity: geo.Caution, Place: "block Lower Rise", Text: "1 of 12 rows are shorter than 30 m"},
		},
	})
	require.NoError(t, err)
	return d
}

// Numbers stand along the local direction of a bent row's ends: here, at the
// ends of half circles, straight down the page.
func TestEndsOfBentRows(t *testing.T) {
	d := bentDocument(t, "metric")
	l := labels{sheet: newSheet(d)}
	for _, r := range d.Rows[:3] {
		a, b := l.rowEnds(r, true)
		for _, e := range []rowEnd{a, b} {
			// by hand: 4 to 7 m of a circle of 40 m or more, whose chord lies half their arc off the tangent
			assert.InDelta(t, 0, e.out.x, math.Sin(7.0/40/2), "row %d", r.Number)
			assert.Greater(t, e.out.y, 0.99)
		}
		a, b = l.rowEnds(r, false)
		assert.InDelta(t, -1, a.out.x, 1e-9, "a straight row has one direction")
		assert.InDelta(t, 1, b.out.x, 1e-9)
	}
	got := checkLabels(t, d)
	letters := ""
	for _, e := range got.ends {
		letters += e.letter
	}
	assert.Equal(t, "ABAB", letters, "both zones tell their ends")
}

func TestZones(t *testing.T) {
	d := bentDocument(t, "metric")
	zones := zonesOf(d, 0)
	require.Len(t, zones, 2)
	assert.Equal(t, []int{3, 2}, []int{len(zones[0]), len(zones[1])}, "the greatest first")
	assert.Equal(t, 4, zones[1][0].Number)
	d.Blocks[0].Tally.Rows = 0
	assert.Empty(t, zonesOf(d, 0))
}

// Rows as the planner bends them, over ground of several shapes, are lettered
// like others.
func TestLetteringOfHills(t *testing.T) {
	for name, d := range hills(t) {
		t.Run(name, func(t *testing.T) {
			require.Equal(t, "contour", d.Blocks[0].Style)
			checkLabels(t, d)
			data := MapSVG(d)
			svgElements(t, data)
			words := written(data)
			assert.Contains(t, words, "row by its grade, in %")
			assert.Contains(t, strings.Join(strings.Fields(words), " "), "follow the land")
			assert.Equal(t, name == "knolls", strings.Contains(words, "row, no terrain"))
			assert.Equal(t, len(gapsOf(d)) > 0, strings.Contains(words, "row broken"))
			encoded, err := result.Encode(d)
			require.NoError(t, err)
			again, err := result.Decode(encoded)
			require.NoError(t, err)
			assert.Equal(t, string(data), string(MapSVG(again)))
			assert.Equal(t, string(Summary(d, "us")), string(Summary(again, "us")))
		})
	}
}

func TestSummaryOfBentRows(t *testing.T) {
	got := string(Summary(bentDocument(t, "metric"), "metric"))
	for _, want := range []string{
		"rows follow the land, on average 90.00 deg from true north, roughly from W to E; each\n            row's own ends stand in rows.csv\n", "Laid        rows of a field with restarts\n", "1.20 of 1.50 ha lie inside",
		"\nTurns       3 plain turns, 0 bulb turns, 1 drive to other rows, 160.0 m of way in all\n",
		"  Open area   1.50 ha: what is left of the block less obstacles and",
		"  Grade       kept on 90.0 % of the length, worst 3.5 %; straight rows would keep it on 41.7 % of\n              the length, worst 12.3 %\n",
		"  straight rows                        0.60   0.380       9      1     12.3 10.00 to 10.00        -\n",
		"* rows of a field with restarts        1.20   0.762      12      1      3.5  9.10 to 11.40     20.5\n",
		"rows along a guide may not be laid", "grade to 3 % and half the slope of the land over 10 m, rows 9 m to 11.50 m apart",
		"2 gaps where a row would bend too tightly", "47.200540 (radius 12.3 m); 4.0 m at", "Receiver    one curve repeated",
		"Rows begin anew once", "1 of 12 rows are shorter than 30 m",
	} {
		assert.Contains(t, got, want)
	}
	assert.Equal(t, 1, strings.Count(got, "1.20 of 1.50 ha"), "what was told is not told again")
	us := string(Summary(bentDocument(t, "us"), "us"))
	// by hand: 1.2 ha / 0.40468564 = 2.965 acres; 9.1 and 11.4 m / 0.3048 = 29.86 and 37.40 ft; 20.5 m = 67.3 ft
	assert.Contains(t, us, "* rows of a field with restarts        2.97   0.762      12      1      3.5 29.86 to 37.40     67.3\n")
	assert.NotContains(t, string(Summary(smallDocument(t, "metric"), "metric")), "Rows and the land")
}

func TestSummaryOfHowBentRowsWereChosen(t *testing.T) {
	d := bentDocument(t, "metric")
	c := d.Blocks[0].Curved
	c.Passed = true
	assert.Contains(t, strings.Join(strings.Fields(string(Summary(d, "metric"))), " "), "straight rows are better")
	c.Passed, c.Slight = false, true
	assert.Contains(t, string(Summary(d, "metric")), "they gain little")
	c.Limits.TargetPct, c.Limits.TargetSide = 0.5, "NE"
	laid := &c.Candidates[3]
	laid.FallOKPct, laid.FallMeanPct = 84.4, 0.456
	for range 9 {
		laid.Gaps = append(laid.Gaps, laid.Gaps[0])
	}
	got := strings.Join(strings.Fields(string(Summary(d, "metric"))), " ")
	assert.Contains(t, got, "rows should fall 0.5 % towards NE: 84 % of the length laid does, the mean is 0.46 %")
	assert.Contains(t, got, "11 gaps where")
	assert.Contains(t, got, "; and 7 more")
	d.Blocks = append(d.Blocks, smallDocument(t, "metric").Blocks[0])
	assert.Contains(t, string(Summary(d, "metric")), "\nRows and the land, block Lower Rise\n")
	d.Blocks = d.Blocks[:1]
	c.Repeat, c.Depth, laid.Gaps = nil, "", nil
	got = string(Summary(d, "metric"))
	for _, no := range []string{"Receiver", "Depth", "Broken"} {
		assert.NotContains(t, got, no)
	}
	for _, text := range []string{hostile, strings.Repeat("x", 500), strings.Repeat("word ", 200), ""} {
		d := bentDocument(t, "metric")
		c := d.Blocks[0].Curved
		c.Why, c.Laid, c.Depth, c.Repeat.Text, c.Limits.TargetSide, c.Limits.TargetPct = text, text, text, text, text, 1
		c.Candidates[1].Method, c.Candidates[1].Rejected, d.Blocks[0].Name = text, text, text
		for line := range strings.Lines(string(Summary(d, "us"))) {
			require.LessOrEqual(t, utf8.RuneCountInString(strings.TrimSuffix(line, "\n")), pageColumns, line)
			require.NotContains(t, line, "\x1b")
		}
	}
}

// A bent row as GeoJSON strays from its curve by no more than its chords and
// the degrees do together, and keeps every vertex that bends it.
func TestGeoJSONKeepsBends(t *testing.T) {
	for _, latDeg := range []float64{0, 47.2, -65} {
		f := frameAt(t, 17, latDeg)
		for _, c := range []struct{ radiusM, chordM float64 }{{20, 0.02}, {20, 0.01}, {250, 0.02}, {5000, 0.02}} {
			t.Run(fmt.Sprintf("%g/%g/%g", latDeg, c.radiusM, c.chordM), func(t *testing.T) {
				// a chord of length l strays by l²/(8 R) from its arc
				step := math.Sqrt(8*c.chordM*c.radiusM) / c.radiusM * 180 / math.Pi
				n := int(math.Ceil(120 / step))
				pts := arc(0, 0, c.radiusM, 30, 30+120, n)
				ll := make([]result.Position, len(pts))
				for i, p := range pts {
					q := f.Unwrapped(p)
					ll[i] = result.Position{q.LonDeg, q.LatDeg}
				}
				kept := straightened(ll)
				assert.Len(t, kept, len(ll), "every vertex bends the row by more than 2 mm")
				for i := 1; i < len(kept); i++ {
					for k := range 9 {
						s := float64(k) / 8
						p := f.ToLocal(geo.LonLat{
							LonDeg: kept[i-1][0] + s*(kept[i][0]-kept[i-1][0]), LatDeg: kept[i-1][1] + s*(kept[i][1]-kept[i-1][1]),
						})
						require.InDelta(t, c.radiusM, math.Hypot(p[0], p[1]), c.chordM+geo.CurveChordM)
					}
				}
			})
		}
	}
	// a row that comes back to where it began is no point
	at := func(x, y float64) result.Position { return result.Position{17 + x/111320, y / 110574} }
	ring := []result.Position{at(0, 0), at(30, 0), at(30, 30), at(0, 30), at(0, 0)}
	assert.Equal(t, ring, straightened(ring))
	back := []result.Position{at(0, 0), at(50, 0), at(20, 0)}
	assert.Equal(t, back, straightened(back), "nor is the way there and half the way back")
}

func TestListsTellZones(t *testing.T) {
	d := bentDocument(t, "metric")
	lines := readCSV(t, RowsCSV(d))
	assert.Equal(t, "zone", lines[0][7])
	assert.Equal(t, []string{"1", "2"}, []string{lines[1][7], lines[5][7]})
	rows := 0
	for _, f := range readGeoJSON(t, RowsGeoJSON(d)) {
		switch f.Properties["kind"] {
		case "row":
			rows++
			assert.Equal(t, float64(d.Rows[int(f.Properties["row"].(float64))-1].Zone), f.Properties["zone"])
		case "boundary":
			assert.Equal(t, "contour", f.Properties["style"])
		}
	}
	assert.Equal(t, 6, rows)
}
