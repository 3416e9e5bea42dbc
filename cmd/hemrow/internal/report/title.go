package report

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"hemrow/cmd/hemrow/internal/result"
	"hemrow/geo"
)

func itoa(n int) string { return strconv.Itoa(n) }

// caution stands on every map, a sentence or half of one in each string.
var caution = [...]string{"Caution: not a survey plan;", "check lengths on the ground.", "Print at full size and check", "the scale bar with a ruler."}

const (
	scaleBlockMM = 50.0 // width of scale, bar and north
	keyWidthMM   = 49.0
	keyStepMM    = 4.9
	// More lines than keyMost stand tightKeyMM apart, as near as signs can, and
	// make the block at the foot higher.
	keyMost    = 8
	tightKeyMM = 3.75
)

// footOf is the height of the block at the foot with so many lines in the key,
// and the step of those.
func footOf(lines int) (heightMM, stepMM float64) {
	if lines > keyMost {
		return max(titleMM, tightKeyMM*float64(lines)+8.8), tightKeyMM
	}
	return titleMM, min(keyStepMM, (titleMM-8)/float64(lines))
}

// titleBlock draws the frame of the map and the block at its foot or on its
// right: what it shows, the key to its signs, scale bar and north.
func (m *drawing) titleBlock() {
	s := m.sheet
	m.put(`<path %s d="M%s %sH%sV%sH%sZ"/>`, stroke(inkColour, 0.4, ""),
		mmText(marginMM), mmText(marginMM), mmText(s.w-marginMM), mmText(s.h-marginMM), mmText(marginMM))
	if s.column {
		m.titleColumn(s.mapEnd().x)
	} else {
		m.titleFoot(s.mapEnd().y)
	}
}

func (m *drawing) titleFoot(top float64) {
	s := m.sheet
	right := s.w - marginMM
	m.rule(marginMM, top, right, 0.4)
	m.words(marginMM+3, top, right-scaleBlockMM-keyWidthMM-marginMM-5, top+s.footMM-7)
	entries := m.keyEntries()
	_, step := footOf(keyLines(entries))
	m.key(entries, right-scaleBlockMM-keyWidthMM, top+0.6, step)
	m.scaleBar(right-scaleBlockMM+1, top)
	m.north(right-8, top+12)
	m.rule(marginMM, s.h-marginMM-6, right, 0.2)
	m.caution(strings.Join(caution[:], " "), marginMM+3, s.h-marginMM-2.1)
}

// titleColumn stacks from the foot up what has a size of its own; name and
// figures have the rest.
func (m *drawing) titleColumn(left float64) {
	s := m.sheet
	right, foot := s.w-marginMM, s.h-marginMM
	m.put(`<path %s d="M%s %sV%s"/>`, stroke(inkColour, 0.4, ""), mmText(left), mmText(marginMM), mmText(foot))
	y := foot - 3.6*float64(len(caution)) - 2.6
	m.rule(left, y, right, 0.2)
	for i, text := range caution {
		m.caution(text, left+3, y+4.3+3.6*float64(i))
	}
	y -= 38
	m.scaleBar(left+3, y)
	m.north(right-8, y+12)
	m.rule(left, y, right, 0.2)
	entries := m.keyEntries()
	y -= float64(max(7, keyLines(entries)))*keyStepMM + 4
	m.key(entries, left+3, y, keyStepMM)
	m.rule(left, y, right, 0.2)
	m.words(left+3, marginMM, columnMM-6, y-2)
}

// rule is a line across the title block.
func (m *drawing) rule(x0, y, x1, widthMM float64) {
	m.put(`<path %s d="M%s %sH%s"/>`, stroke(inkColour, widthMM, ""), mmText(x0), mmText(y), mmText(x1))
}

func (m *drawing) caution(text string, x, y float64) {
	m.letter(lettering{text: text, at: point{x, y}, sizeMM: 2.5, anchor: "start", bold: true})
}

// words are the name and the figures of the layout, down to the foot. Where
// there are many they stand closer, and the last are left to the summary.
func (m *drawing) words(x, top, roomMM, foot float64) {
	const sizeMM, stepMM, tightMM = 2.6, 3.9, 3.1
	name := named(m.doc.Field.Name, "Field")
	size := 5.0
	for size > 3.2 && 1.1*widthMM(name, size) > roomMM {
		size -= 0.2
	}
	m.letter(lettering{text: fitted(name, 1.1*size, roomMM), at: point{x, top + 7}, sizeMM: size, anchor: "start", bold: true})
	var lines []string
	for _, t := range m.figures() {
		lines = append(lines, wrapMM(t, sizeMM, roomMM)...)
	}
	y := top + 12.2
	most := max(1, 1+int((foot-y)/tightMM))
	if len(lines) > most {
		lines = append(lines[:most-1], "and more: see the summary")
	}
	step := min(stepMM, (foot-y)/float64(max(1, len(lines)-1)))
	for i, l := range lines {
		m.letter(lettering{text: l, at: point{x, y + step*float64(i)}, sizeMM: sizeMM, anchor: "start"})
	}
}

// wrapMM breaks text into lines of a width on the page.
func wrapMM(s string, sizeMM, roomMM float64) []string {
	for columns := len([]rune(s)); columns > 8; columns-- {
		fits := true
		lines := wrap(s, columns)
		for _, l := range lines {
			fits = fits && widthMM(l, sizeMM) <= roomMM
		}
		if fits {
			return lines
		}
	}
	return []string{fitted(s, sizeMM, roomMM)}
}

// figures are the lines below the name, the weightiest first.
func (m *drawing) figures() []string {
	d, u := m.doc, m.doc.Units
	out := []string{"Field " + area(d.Field.AreaM2, u)}
	if w := d.Field.WorkingAreaM2; w != nil {
		out = append(out, "Working area "+area(*w, u))
	}
	if d.Totals.Rows == 0 {
		return append(out, "No rows")
	}
	out = append(out,
		fmt.Sprintf("%s in %s, spacing %s", geo.Counted(d.Totals.Rows, "row"), geo.Counted(d.Totals.Pieces, "piece"), amount(d.Blocks[0].SpacingM, "m", u)),
		"Length of rows "+length(d.Totals.PlanM, u)+" (plan)")
	if t := d.Terrain; t != nil {
		out = append(out, "along the ground "+length(d.Totals.GroundM, u),
			fmt.Sprintf("Ground from %s, mean slope %.1f %%", span(amount(t.LowestM, "m", u), amount(t.HighestM, "m", u)), t.MeanSlopePct))
	}
	for i, b := range d.Blocks {
		if b.Tally.Rows == 0 {
			continue
		}
		text := fmt.Sprintf("Heading %s\u00b0 from A (%s) to B (%s)", geo.Bearing(b.HeadingDeg).HeadingText(2), clean(b.EndA), clean(b.EndB))
		if follows(b) { // the ends of each row are on the map
			text = fmt.Sprintf("Mean heading %s\u00b0, %s to %s", geo.Bearing(b.HeadingDeg).HeadingText(2), clean(b.EndA), clean(b.EndB))
		}
		switch {
		case len(d.Blocks) > 1:
			text = named(b.Name, "Block "+itoa(i+1)) + ": " + strings.ToLower(text[:1]) + text[1:]
		case follows(b):
			out = append(out, "Rows follow the land")
		}
		out = append(out, text)
	}
	return out
}

// follows reports whether the rows of a block follow the land.
func follows(b result.Block) bool { return b.Style == "contour" }

// keyEntry is one sign with its meaning.
type keyEntry struct {
	text  string
	draw  func(x, y float64) // the sign's left end and middle height
	lines int                // that it takes, 0 for one
	wide  bool               // the sign stands below its text
}

// keyLines is how many lines entries take.
func keyLines(entries []keyEntry) (n int) {
	for _, e := range entries {
		n += max(1, e.lines)
	}
	return n
}

// keyEntries are the signs that are on this map.
func (m *drawing) keyEntries() []keyEntry {
	line := func(attr string) func(x, y float64) {
		return func(x, y float64) { m.put(`<path %s d="M%s %sH%s"/>`, attr, mmText(x), mmText(y), mmText(x+10)) }
	}
	fill := func(colour, edge string) func(x, y float64) {
		return func(x, y float64) {
			m.put(`<rect x="%s" y="%s" width="10" height="3" fill="%s" %s/>`, mmText(x), mmText(y-1.5), colour, edge)
		}
	}
	entries := []keyEntry{}
	add := func(text string, draw func(x, y float64)) {
		entries = append(entries, keyEntry{text: text, draw: draw})
	}
	add("field outline", line(stroke(inkColour, 0.55, outlineDash)))
	if m.doc.Totals.Rows > 0 {
		if m.graded() {
			entries = append(entries, m.gradeKey())
			if m.hasUnknown() {
				add("row, no terrain", line(gradeStroke(-1, math.Max(0.2, m.rowWidthMM()))))
			}
		} else {
			add("row, with its number", line(stroke(rowColour, math.Max(0.2, m.rowWidthMM()), rowDash)))
		}
		if len(gapsOf(m.doc)) > 0 {
			add("row broken", func(x, y float64) { m.brokenMark(point{x + 5, y}) })
		}
		add("row ends A and B", func(x, y float64) { m.endMark("A", point{x + 2.8, y}); m.endMark("B", point{x + 7.2, y}) })
	}
	if t := m.doc.Terrain; t != nil && len(t.Levels) > 0 {
		add("height, every "+amount(t.IntervalM, "m", m.doc.Units), func(x, y float64) {
			m.put(`<path %s d="M%s %sH%s"/>`, m.levelStroke(false), mmText(x), mmText(y-0.8), mmText(x+10))
			m.put(`<path %s d="M%s %sH%s"/>`, m.levelStroke(true), mmText(x), mmText(y+0.8), mmText(x+10))
		})
	}
	if m.hasHeadland() {
		thin := `stroke="` + inkColour + `" stroke-width="0.1"`
		add("working area", fill(paperColour, thin))
		add("headland, clearance", fill(headColour, thin))
	}
	if m.hasObstacles() {
		add("obstacle", fill("url(#obstacle)", `stroke="`+obstacleColour+`" stroke-width="0.4" stroke-dasharray="`+obstacleDash+`"`))
	}
	if m.hasAlleys() {
		add("cross alley", line(stroke(alleyColour, 0.5, alleyDash)+` stroke-linecap="round"`))
	}
	return entries
}

// key draws the entries one below the other.
func (m *drawing) key(entries []keyEntry, x, y, stepMM float64) {
	at := y + 3.5
	for _, e := range entries {
		if e.wide {
			m.letter(lettering{text: e.text, at: point{x, at + 0.9}, sizeMM: 2.6, anchor: "start"})
			e.draw(x, at+stepMM*float64(e.lines-1))
		} else {
			e.draw(x, at)
			m.letter(lettering{text: e.text, at: point{x + 12, at + 0.9}, sizeMM: 2.6, anchor: "start"})
		}
		at += stepMM * float64(max(1, e.lines))
	}
}

func (m *drawing) hasObstacles() bool {
	for _, b := range m.doc.Blocks {
		if len(b.Outline.Local) > 1 {
			return true
		}
	}
	return len(m.doc.Field.Obstacles) > 0
}

func (m *drawing) hasAlleys() bool {
	for _, b := range m.doc.Blocks {
		if len(b.Alleys) > 0 {
			return true
		}
	}
	return false
}

// scaleBar draws a bar of round length in the reader's unit.
func (m *drawing) scaleBar(x, top float64) {
	unit, size := "m", 1.0
	if m.doc.Units == usUnits {
		unit, size = "ft", geo.FootM
	}
	step := roundLength(18 / (m.sheet.mmPerM * size)) // two steps, at most 36 mm
	w := step * size * m.sheet.mmPerM
	y := top + 33.5
	m.letter(lettering{text: "1 : " + itoa(m.sheet.scale), at: point{x, top + 7}, sizeMM: 4.4, anchor: "start", bold: true})
	m.letter(lettering{text: "on " + m.sheet.paper + " paper", at: point{x, top + 11.4}, sizeMM: 2.6, anchor: "start"})
	m.put(`<rect x="%s" y="%s" width="%s" height="1.6" fill="%s" stroke="%s" stroke-width="0.25"/>`, mmText(x), mmText(y-5), mmText(w), inkColour, inkColour)
	m.put(`<rect x="%s" y="%s" width="%s" height="1.6" fill="%s" stroke="%s" stroke-width="0.25"/>`, mmText(x+w), mmText(y-5), mmText(w), paperColour, inkColour)
	for i, anchor := range []string{"start", "middle", "middle"} {
		text := decimals(float64(i)*step, 3)
		if i == 2 {
			text += " " + unit
		}
		m.letter(lettering{text: text, at: point{x + float64(i)*w, y}, sizeMM: 2.5, anchor: anchor})
	}
}

// roundLength is the greatest of 1, 2, 5, 10, 20, … and of their tenths that
// is not above most.
func roundLength(most float64) float64 {
	ten := math.Pow(10, math.Floor(math.Log10(most)))
	for _, k := range []float64{5, 2} {
		if k*ten <= most {
			return k * ten
		}
	}
	return ten
}

// north draws the arrow: a needle, its east half filled.
func (m *drawing) north(x, y float64) {
	m.put(`<path fill="%s" stroke="%s" stroke-width="0.3" stroke-linejoin="round" d="M%s %sl2.6 12l-2.6 -2.4Z"/>`, inkColour, inkColour, mmText(x), mmText(y-5))
	m.put(`<path fill="%s" stroke="%s" stroke-width="0.3" stroke-linejoin="round" d="M%s %sl-2.6 12l2.6 -2.4Z"/>`, paperColour, inkColour, mmText(x), mmText(y-5))
	m.letter(lettering{text: "N", at: point{x, y + 11.2}, sizeMM: 3.6, anchor: "middle", bold: true})
}
