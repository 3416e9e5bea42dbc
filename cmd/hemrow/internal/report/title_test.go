package report

import (
	"fmt"
	"regexp"
	"testing"

	"github.com/stretchr/testify/assert"

	"hemrow/geo"
)

// All lines on how rows run are on the sheet, at its foot and in its column,
// and none crosses the rule below.
func TestTitleHoldsHowRowsRun(t *testing.T) {
	docs := hills(t)
	docs["bent"] = bentDocument(t, "metric")
	for name, d := range docs {
		for _, units := range []string{"metric", "us"} {
			d.Units = units
			for _, p := range pages(papersOf(units), true) {
				t.Run(fmt.Sprintf("%s/%s/%g by %g/%v", name, p.paper, p.w, p.h, p.column), func(t *testing.T) {
					m := drawing{doc: d, sheet: p}
					m.sheet.footMM, _ = footOf(keyLines(m.keyEntries()))
					m.sheet = m.sheet.fit(boundsOf(d))
					m.titleBlock()
					b := d.Blocks[0]
					want := fmt.Sprintf("Rows follow the land Mean heading %s\u00b0, %s to %s", geo.Bearing(b.HeadingDeg).HeadingText(2), b.EndA, b.EndB)
					got := written([]byte(m.String()))
					assert.Contains(t, got, want)
					assert.NotContains(t, got, "and more")
				})
			}
		}
	}
}

// The longest mean heading takes one line in the column too.
func TestMeanHeadingIsOneLine(t *testing.T) {
	d := bentDocument(t, "metric")
	d.Blocks[0].HeadingDeg, d.Blocks[0].EndA, d.Blocks[0].EndB = 144.44, "NW", "SE"
	m := drawing{doc: d}
	list := m.figures()
	for _, l := range list[len(list)-2:] {
		assert.Len(t, wrapMM(l, 2.6, columnMM-6), 1, l)
	}
	assert.Equal(t, "Mean heading 144.44\u00b0, NW to SE", list[len(list)-1])
}

func TestTitleOfManyBlocks(t *testing.T) {
	d := bentDocument(t, "metric")
	d.Blocks = append(d.Blocks, smallDocument(t, "metric").Blocks[0])
	words := written(MapSVG(d))
	assert.Contains(t, words, "Lower Rise: mean heading 90.00\u00b0, W to E")
	assert.Contains(t, words, "Main: heading 0.00\u00b0 from A (S) to B (N)")
	for range 30 {
		d.Blocks = append(d.Blocks, d.Blocks[1])
	}
	m := drawing{doc: d}
	m.words(13, 100, 86, 136)
	assert.Contains(t, written([]byte(m.String())), "and more: see the summary")
	for _, at := range regexp.MustCompile(`<text x="[^"]*" y="([^"]*)"`).FindAllStringSubmatch(m.String(), -1) {
		assert.LessOrEqual(t, asFloat(t, at[1]), 136.0)
	}
}
