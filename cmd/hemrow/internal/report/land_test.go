package report

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"

	"hemrow/cmd/hemrow/internal/result"
)

// The share and the worst grade are those of the rows laid, then those of
// straight rows, and stand only where they mean something.
func TestSummaryOfGradeKept(t *testing.T) {
	for _, c := range []struct {
		name  string
		spoil func(c *result.Curved)
		want  string
	}{
		{"bent", func(*result.Curved) {}, "kept on 90.0 % of the length, worst 3.5 %; straight rows would keep it on 41.7 % of the length, worst 12.3 %"},
		{"straight laid", func(c *result.Curved) { c.Candidates[0].Laid, c.Candidates[3].Laid = true, false }, "kept on 41.7 % of the length, worst 12.3 %"},
		{"some unknown", func(c *result.Curved) { c.Candidates[0].NoGroundPct = 3 }, "kept on 90.0 % of the length, worst 3.5 %; straight rows would keep it on 41.7 % of the length, worst 12.3 % (where heights are known)"},
		{"all unknown", func(c *result.Curved) { c.Candidates[3].NoGroundPct = 100 }, ""},
		{"straight unknown", func(c *result.Curved) { c.Candidates[0].NoGroundPct = 100 }, "kept on 90.0 % of the length, worst 3.5 % (where heights are known)"},
		{"no straight row", func(c *result.Curved) { c.Candidates[0].PiecesNo = 0 }, "kept on 90.0 % of the length, worst 3.5 %"},
		{"no row", func(c *result.Curved) { c.Candidates[3].PiecesNo = 0 }, ""},
		{"nothing", func(c *result.Curved) { c.Candidates = nil }, ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			d := bentDocument(t, "metric")
			c.spoil(d.Blocks[0].Curved)
			assert.Equal(t, c.want, gradeKept(d.Blocks[0].Curved))
			assert.Equal(t, c.want != "", strings.Contains(string(Summary(d, "metric")), "\n  Grade  "))
		})
	}
}

func TestSummaryOfUnknownHeights(t *testing.T) {
	const partly = "The heights of the ground are not known along 455 m of row."
	d := bentDocument(t, "metric")
	assert.NotContains(t, string(Summary(d, "metric")), "No heights")
	c := d.Blocks[0].Curved
	c.Partly = partly
	assert.Contains(t, string(Summary(d, "metric")), "\n  No heights  "+partly+"\n")
	d.Blocks[0].Style, c.Laid, c.Repeat, c.Depth = "straight", "straight rows", nil, ""
	c.Candidates = c.Candidates[:1]
	c.Candidates[0].Laid = true
	got := string(Summary(d, "metric"))
	assert.Contains(t, got, "\n  No heights  "+partly+"\n", "straight rows lie on unknown ground too")
	assert.NotContains(t, got, "Open area", "there is no table that speaks of it")
}

// What the open area is, is told once, its size for every block.
func TestSummaryTellsTheOpenAreaOnce(t *testing.T) {
	d := bentDocument(t, "metric")
	d.Blocks = append(d.Blocks, d.Blocks[0])
	d.Blocks[1].Name = "Upper Rise"
	got := string(Summary(d, "metric"))
	assert.Equal(t, 2, strings.Count(got, "\n  Open area   1.50 ha"))
	assert.Equal(t, 1, strings.Count(got, "less obstacles and"))
	assert.Contains(t, string(Summary(d, "us")), "  Open area   3.71 acres", "by hand: 15 000 / 4046.856 m2")
}

func TestSummaryOfRefusedRows(t *testing.T) {
	const none, sparse = "it has no rows", "its rows cover 80.0 %"
	for _, c := range []struct {
		name  string
		spoil func(c *result.Curved)
		want  []string // lines on reasons
		empty int      // candidates without rows
	}{
		{"one", func(c *result.Curved) { c.Candidates[1].Rejected = sparse }, []string{"rows along a guide may not be laid: " + sparse}, 0},
		{"no rows", func(c *result.Curved) {
			for i := 1; i < 3; i++ {
				c.Candidates[i].Rejected, c.Candidates[i].PiecesNo = none, 0
			}
		}, nil, 2},
		{"no rows for a fall", func(c *result.Curved) {
			c.Limits.TargetPct = 1
			for i := 1; i < 3; i++ {
				c.Candidates[i].Rejected, c.Candidates[i].PiecesNo = none, 0
			}
		}, []string{"rows along a guide, rows of a field may not be laid: " + none}, 2},
		{"told by the choice", func(c *result.Curved) { c.Candidates[1].Rejected, c.Why = sparse, "Others win, but "+sparse+"." }, nil, 0},
		{"laid all the same", func(c *result.Curved) { c.Candidates[1].Rejected, c.Candidates[3].Rejected = "", sparse }, nil, 0},
	} {
		t.Run(c.name, func(t *testing.T) {
			d := bentDocument(t, "metric")
			c.spoil(d.Blocks[0].Curved)
			assert.Equal(t, c.want, refusals(d.Blocks[0].Curved))
			got := string(Summary(d, "metric"))
			assert.Equal(t, c.empty, strings.Count(got, "no bent row fits\n"))
			if c.empty > 0 {
				assert.Contains(t, got, "\n  rows of a field                    no bent row fits\n")
				assert.LessOrEqual(t, strings.Count(got, none), 1)
			}
			for _, l := range c.want {
				assert.Equal(t, 1, strings.Count(got, "\n  "+l+"\n"))
			}
		})
	}
}

// Drives are told where there are some.
func TestSummaryOfDrives(t *testing.T) {
	d := bentDocument(t, "metric")
	for n, want := range map[int]string{0: "0 bulb turns, 160.0 m", 1: "0 bulb turns, 1 drive to other rows, 160.0 m", 3: "0 bulb turns, 3 drives to other rows, 160.0 m"} {
		d.Totals.Drives = n
		assert.Contains(t, string(Summary(d, "metric")), want)
	}
}
