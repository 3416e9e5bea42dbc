package materials

import (
	"fmt"
	"math"
	"strings"

	"hemrow/geo"
	"hemrow/materials/catalog"
)

// caution raises the notes of a take-off: first what is wrong with the figures
// chosen, then what the work asks of people, last how sure the figures are.
// A layout without rows gets none.
func (c *counter) caution() {
	if len(c.takes) == 0 {
		return
	}
	if c.spec.film() {
		c.cautionFilm()
		c.cautionTrench()
		c.cautionAfter()
	}
	if c.spec.Cover == TwoSheet {
		c.cautionSeam()
	}
	if c.spec.Tape.LinesCount > 0 {
		c.note(geo.Note{
			Code: geo.NoteWater, Severity: geo.Caution,
			Text: "drip tape is fed from a water supply",
			Hint: "a connection to drinking water needs an air gap or an approved backflow preventer, a reduced-pressure one where " +
				"anything is injected; keep within the tape maker's pressure, with the fall of the ground added; local plumbing " +
				"code, water rights and a licensed installer decide",
		})
	}
	c.cautionSure()
}

func (c *counter) note(n geo.Note) { c.notes = append(c.notes, n) }

// cautionFilm is about the film chosen.
func (c *counter) cautionFilm() {
	f := c.spec.Film
	if covered := c.spec.CoveredM(); covered < f.BedWidthM-geo.CoincidentM {
		c.note(geo.Note{
			Code: geo.NoteFilmNarrow, Severity: geo.Caution, Value: covered, Limit: f.BedWidthM, Unit: "m",
			Text: fmt.Sprintf("the film covers %.2f m between its buried edges, the bed is %.2f m wide", covered, f.BedWidthM),
			Hint: "order wider film or make the bed narrower",
		})
	}
	if f.ThicknessUm < f.ThinFilmUm {
		c.note(geo.Note{
			Code: geo.NoteThinFilm, Severity: geo.Caution, Value: f.ThicknessUm, Limit: f.ThinFilmUm, Unit: "um",
			Text: fmt.Sprintf("film of %g um is thin for rows that stay for years", f.ThicknessUm),
			Hint: "thin film tears when it is taken up; ask the maker how long it lasts in the sun",
		})
	}
	if kg := c.rollKg(); kg > f.LiftLimitKg {
		c.note(geo.Note{
			Code: geo.NoteHeavyRoll, Severity: geo.Caution, Value: kg, Limit: f.LiftLimitKg, Unit: "kg",
			Text: fmt.Sprintf("a full roll of film weighs about %.0f kg without its core", kg),
			Hint: fmt.Sprintf("that is over the %g kg that one person may lift in ideal conditions (NIOSH 94-110): two people or a "+
				"machine, or shorter rolls", f.LiftLimitKg),
		})
	}
	if cut := c.longestCutM(); whole(cut, f.RollM) > 1 {
		q, _ := Takeoff{Quantities: c.list}.Get("film_joints")
		c.note(geo.Note{
			Code: geo.NoteSplices, Severity: geo.Caution, Value: cut, Limit: f.RollM, Unit: "m",
			Text: fmt.Sprintf("rows longer than a roll of %g m make %.0f joints in all at least; the longest sheet is %.1f m", f.RollM, q.Value, cut),
			Hint: "order longer rolls, divide the rows by a cross alley, or allow waste for the laps and bury them",
		})
	}
}

// cautionTrench is about digging.
func (c *counter) cautionTrench() {
	if c.spec.tooShortTuck() {
		c.note(geo.Note{
			Code: geo.NoteTuckShort, Severity: geo.Caution, Value: c.spec.Film.TuckM, Limit: c.spec.Trench.DepthM, Unit: "m",
			Text: fmt.Sprintf("an edge tuck of %.2f m does not reach the floor of a trench %.2f m deep", c.spec.Film.TuckM, c.spec.Trench.DepthM),
			Hint: "the edge needs as much film as the trench is deep, and the width of its floor too where it is laid in an L",
		})
	}
	c.note(geo.Note{
		Code: geo.NoteBuriedService, Severity: geo.Serious, Value: c.spec.Trench.DepthM, Unit: "m",
		Text: "trenches are dug along every row: gas, power, water and data lines may lie under them",
		Hint: "have the lines marked before digging (in the US call 811 some days ahead), dig by hand near the marks, and ask the " +
			"owner about private lines, which nobody marks; the one-call law of the place decides (29 CFR 1926.651(b) in the US)",
	})
}

// cautionAfter is about living with film and taking it up again.
func (c *counter) cautionAfter() {
	q, _ := Takeoff{Quantities: c.list}.Get("film_mass")
	c.note(geo.Note{
		Code: geo.NoteBurning, Severity: geo.Caution, Value: q.Value, Unit: "kg",
		Text: fmt.Sprintf("%.0f kg of film are laid and must be taken up again", q.Value),
		Hint: "plan how it is taken up and who takes it back; burning it is prohibited in most places: ask the authority for waste",
	})
	c.note(geo.Note{
		Code: geo.NoteRunoff, Severity: geo.Info,
		Text: "film sheds all rain onto the alleys",
		Hint: "keep the alleys in sod and their outlets stable; have row grade and erosion looked at by the local soil " +
			"conservation office: these figures are no permit and no engineered design",
	})
	c.note(geo.Note{
		Code: geo.NoteHotFilm, Severity: geo.Info, Value: 70, Unit: "C",
		Text: "dark film reaches 70 to 80 C in the midday sun (Ham, Kluitenberg and Lamont 1993)",
		Hint: "it burns skin and stems: keep it off the trunks, lay it in cooler hours, and follow local rules for work in heat",
	})
	if len(c.layout.Spec.Plants) == 0 {
		return
	}
	c.note(geo.Note{
		Code: geo.NoteGirdling, Severity: geo.Info,
		Text: "openings in film must grow with the trunks",
		Hint: "enlarge them every year, or the film girdles the trees",
	})
}

// cautionSeam is about stones and wind.
func (c *counter) cautionSeam() {
	s, h := c.spec.Seam, c.hold
	if gapM := s.gapM(h.lipKgM); gapM < s.StoneMM/1000 {
		c.note(geo.Note{
			Code: geo.NoteStonesSmall, Severity: geo.Serious, Value: gapM, Limit: s.StoneMM / 1000, Unit: "m",
			Text: fmt.Sprintf("stones of %g mm would have to lie every %.0f mm, nearer than they fit", s.StoneMM, 1000*gapM),
			Hint: "take larger stones, or bury the seam",
		})
	}
	q, _ := Takeoff{Quantities: c.list}.Get("stones_mass")
	kg := s.stoneKg()
	hint := "lift near the body without twisting, share the work, or use a machine: stone work is repeated lifting, for which less is safe"
	if kg > c.spec.Film.LiftLimitKg {
		hint = "one stone is more than one person may lift in ideal conditions (NIOSH 94-110): take smaller ones or a machine"
	}
	c.note(geo.Note{
		Code: geo.NoteLifting, Severity: geo.Caution, Value: kg, Limit: c.spec.Film.LiftLimitKg, Unit: "kg",
		Text: fmt.Sprintf("%.1f t of stones are carried, %.1f kg each", q.Value/geo.TonneKg, kg), Hint: hint,
	})
	c.note(geo.Note{
		Code: geo.NoteEstimate, Severity: geo.Caution, Value: h.lipKgM, Limit: h.suckKg, Unit: "kg/m",
		Text: fmt.Sprintf("the stones are an estimate for a mean wind of %.1f m/s (force %d): %.1f kg on a metre of seam, %.1f kg by "+
			"another reckoning", s.WindMS, catalog.BeaufortForce(s.WindMS), h.lipKgM, h.suckKg),
		Hint: "no guarantee: gusts are half as strong again as the mean; enter the gust of the place for storms, add weight before " +
			"them, and take loose film off at once, as it is a hazard to roads and power lines; buried edges hold far better",
	})
}

// cautionSure is about how sure the figures are.
func (c *counter) cautionSure() {
	var names []string
	for _, q := range c.list {
		if q.Estimate {
			names = append(names, q.Name)
		}
	}
	if len(names) > 0 {
		c.note(geo.Note{
			Code: geo.NoteEstimate, Severity: geo.Info, Value: float64(len(names)), Unit: "quantities",
			Text: "estimates, not counts: " + strings.Join(names, "; "),
			Hint: "check them against your own stone, soil or chips before ordering",
		})
	}
	if c.flat > 0 {
		c.note(geo.Note{
			Code: geo.NotePlain, Severity: geo.Info, Value: float64(c.flat), Unit: "pieces",
			Text: fmt.Sprintf("%d of %d pieces of row have no heights: their length is measured as if the ground were level", c.flat, len(c.takes)),
			Hint: fmt.Sprintf("give a survey of heights (terrain.heights), or add %.1f %% where the ground falls 15 %% along a row",
				100*(math.Hypot(1, 0.15)-1)),
		})
	}
}
