package materials

import (
	"math"

	"hemrow/geo"
	"hemrow/materials/catalog"
)

// umPerM turns a thickness in micrometres into metres.
const umPerM = 1e6

// film counts the sheets: cut, ordered, rolled, weighed.
func (c *counter) film() {
	f := c.spec.Film
	sheets := float64(c.spec.sheets())
	cutM := c.each(func(groundM float64, t *RowTake) float64 {
		t.FilmCutM = sheets * (groundM + 2*f.EndTuckM)
		t.FilmM2 = t.FilmCutM * f.WidthM
		return t.FilmCutM
	})
	orderM := cutM * (1 + f.WastePct/100)
	kgM2 := f.ThicknessUm / umPerM * f.DensityKgM3

	basis, source := "film width − 2 × edge tuck", "K-State Research and Extension, Laying Plastic Mulch"
	inputs := []Input{in("film width", f.WidthM, "m"), in("edge tuck", f.TuckM, "m")}
	if c.spec.Cover == TwoSheet {
		basis, source = "2 × film width − seam lap − 2 × edge tuck", catalog.Definition
		inputs = append(inputs, in("seam lap", f.LapM, "m"))
	}
	c.add(Quantity{
		Key: "covered_width", Name: "Width covered between the buried edges", Value: c.spec.CoveredM(), Unit: "m",
		Basis: basis, Source: source, Inputs: inputs,
	})
	c.add(Quantity{
		Key: "film_cut_length", Name: "Film, cut length", Value: cutM, Unit: "m",
		Basis:  "sheets × (ground length + 2 × end tuck for each piece)",
		Source: catalog.Definition,
		Inputs: []Input{in("sheets side by side", sheets, "sheets"), c.ground(), c.pieces(), in("end tuck", f.EndTuckM, "m")},
	})
	c.add(Quantity{
		Key: "film_order_length", Name: "Film, length to order", Value: orderM, Unit: "m",
		Basis: "cut length × (1 + waste)", Source: catalog.Practice,
		Inputs: []Input{in("cut length", cutM, "m"), in("waste", f.WastePct, "%")},
	})
	c.add(Quantity{
		Key: "film_area", Name: "Film, area laid", Value: cutM * f.WidthM, Unit: "m2",
		Basis: "cut length × film width, tucks and lap included", Source: catalog.Definition,
		Inputs: []Input{in("cut length", cutM, "m"), in("film width", f.WidthM, "m")},
	})
	c.add(Quantity{
		Key: "film_mass", Name: "Film, mass laid and to be taken up again", Value: cutM * f.WidthM * kgM2, Unit: "kg",
		Basis: "area laid × thickness × density", Source: catalog.Get(catalog.FilmDensity).Source,
		Inputs: []Input{
			in("area laid", cutM*f.WidthM, "m2"), in("thickness", f.ThicknessUm, "um"), in("density", f.DensityKgM3, "kg/m3"),
		},
	})
	c.rolls(cutM, orderM, kgM2)
}

// rolls counts whole rolls, what one weighs, and the joints that rows longer
// than a roll cannot do without.
func (c *counter) rolls(cutM, orderM, kgM2 float64) {
	f := c.spec.Film
	c.add(Quantity{
		Key: "film_rolls", Name: "Film, whole rolls", Value: whole(orderM, f.RollM), Unit: "rolls",
		Basis:  "length to order ÷ length on a roll, rounded up; a roll that ends within a row is joined to the next",
		Source: catalog.Definition,
		Inputs: []Input{in("length to order", orderM, "m"), in("length on a roll", f.RollM, "m")},
	})
	c.add(Quantity{
		Key: "film_roll_mass", Name: "Film, mass of one full roll without its core", Value: c.rollKg(), Unit: "kg",
		Basis: "length on a roll × film width × thickness × density", Source: catalog.Get(catalog.FilmDensity).Source,
		Inputs: []Input{
			in("length on a roll", f.RollM, "m"), in("film width", f.WidthM, "m"), in("mass of film", kgM2, "kg/m2"),
		},
	})
	sheets := float64(c.spec.sheets())
	c.add(Quantity{
		Key: "film_joints", Name: "Film, joints in rows longer than a roll", Unit: "joints",
		Value: c.each(func(_ float64, t *RowTake) float64 {
			return sheets * math.Max(0, whole(t.FilmCutM/sheets, f.RollM)-1)
		}),
		Basis:  "for each sheet of each piece: cut length ÷ length on a roll, rounded up, less one, as if each began with a full roll; the lap of a joint comes out of the waste",
		Source: catalog.Definition,
		Inputs: []Input{in("cut length", cutM, "m"), in("length on a roll", f.RollM, "m"), in("longest cut", c.longestCutM(), "m")},
	})
}

// longestCutM is the longest single cut of film, 0 without pieces.
func (c *counter) longestCutM() (m float64) {
	for _, t := range c.takes {
		m = max(m, t.FilmCutM)
	}
	return m / float64(c.spec.sheets())
}

// rollKg is the mass of one full roll of film.
func (c *counter) rollKg() float64 {
	f := c.spec.Film
	return f.RollM * f.WidthM * f.ThicknessUm / umPerM * f.DensityKgM3
}

// trench counts the edge trenches and the soil out of them. Each piece has one
// along both edges; where the film has end tucks, its two ends are buried in
// trenches of the same section across the covered width.
func (c *counter) trench() {
	tr, covered := c.spec.Trench, c.spec.CoveredM()
	ends := 0.0
	if c.spec.Film.EndTuckM > 0 {
		ends = 2 * covered
	}
	section := tr.DepthM * tr.WidthM
	var edgeM, endM geo.Sum
	bankM3 := c.each(func(groundM float64, t *RowTake) float64 {
		t.TrenchM, t.TrenchEndsM = 2*groundM, ends
		t.SoilM3 = section * (t.TrenchM + t.TrenchEndsM)
		edgeM.Add(t.TrenchM)
		endM.Add(t.TrenchEndsM)
		return t.SoilM3
	})
	c.add(Quantity{
		Key: "trench_length", Name: "Edge trench", Value: edgeM.Value(), Unit: "m",
		Basis: "2 × ground length: one along each edge of every piece", Source: catalog.Definition,
		Inputs: []Input{c.ground()},
	})
	if ends > 0 {
		c.add(Quantity{
			Key: "trench_end_length", Name: "Trench across the row ends", Value: endM.Value(), Unit: "m",
			Basis: "2 × covered width for every piece: one across each end", Source: catalog.Practice,
			Inputs: []Input{c.pieces(), in("covered width", covered, "m")},
		})
	}
	swell := in("swell", tr.SwellPct, "%")
	if tr.Soil != "" {
		swell.Name = "swell of " + tr.Soil
	}
	c.add(Quantity{
		Key: "soil_bank", Name: "Soil dug, as it lies", Value: bankM3, Unit: "m3",
		Basis: "length of all trenches × depth × width", Source: catalog.Definition,
		Inputs: []Input{
			in("length of all trenches", edgeM.Value()+endM.Value(), "m"), in("depth", tr.DepthM, "m"), in("width", tr.WidthM, "m"),
		},
	})
	c.add(Quantity{
		Key: "soil_loose", Name: "Soil dug, loose", Value: bankM3 * (1 + tr.SwellPct/100), Unit: "m3",
		Basis: "soil as it lies × (1 + swell)", Source: catalog.SoilSource, Estimate: true,
		Inputs: []Input{in("soil as it lies", bankM3, "m3"), swell},
	})
}

// tooShortTuck is true where the edge of the film would not reach the floor of
// its trench.
func (s Spec) tooShortTuck() bool { return s.Film.TuckM < s.Trench.DepthM-geo.CoincidentM }
