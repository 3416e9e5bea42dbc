package materials

import (
	"fmt"
	"math"
	"strings"
	"unicode"

	"hemrow/materials/catalog"
	"hemrow/rows"
)

// chips counts the strip of wood chips, as long as the pieces.
func (c *counter) chips() {
	s := c.spec.Chips
	areaM2 := c.totalM * s.WidthM
	laidM3 := c.each(func(groundM float64, t *RowTake) float64 {
		t.ChipsM3 = groundM * s.WidthM * s.DepthM
		return t.ChipsM3
	})
	orderM3 := laidM3 * (1 + s.SettlePct/100)
	area := in("strip area", areaM2, "m2")
	c.add(Quantity{
		Key: "chip_area", Name: "Chips, strip area", Value: areaM2, Unit: "m2",
		Basis: "ground length × strip width", Source: catalog.Definition,
		Inputs: []Input{c.ground(), in("strip width", s.WidthM, "m")},
	})
	c.add(Quantity{
		Key: "chips_laid", Name: "Chips, volume laid", Value: laidM3, Unit: "m3",
		Basis: "strip area × depth", Source: catalog.Definition,
		Inputs: []Input{area, in("depth", s.DepthM, "m")},
	})
	c.add(Quantity{
		Key: "chips_order", Name: "Chips, volume to order", Value: orderM3, Unit: "m3",
		Basis: "volume laid × (1 + settling)", Source: catalog.Practice,
		Inputs: []Input{in("volume laid", laidM3, "m3"), in("settling", s.SettlePct, "%")},
	})
	c.add(Quantity{
		Key: "chip_loads", Name: "Chips, loads", Value: whole(orderM3, s.LoadM3), Unit: "loads",
		Basis: "volume to order ÷ volume of a load, rounded up", Source: catalog.Definition,
		Inputs: []Input{in("volume to order", orderM3, "m3"), in("volume of a load", s.LoadM3, "m3")},
	})
	c.add(Quantity{
		Key: "chips_mass", Name: "Chips, mass to order", Value: orderM3 * s.BulkKgM3, Unit: "kg", Estimate: true,
		Basis:  "volume to order × bulk density, which runs from 178 (dry) to 475 kg/m3 (with soil)",
		Source: catalog.Get(catalog.ChipBulkDry).Source + "; " + catalog.Get(catalog.ChipBulkWet).Source,
		Inputs: []Input{in("volume to order", orderM3, "m3"), in("bulk density", s.BulkKgM3, "kg/m3")},
	})
	if s.TopUpM > 0 {
		c.add(Quantity{
			Key: "chips_top_up", Name: "Chips, to top up each year", Value: areaM2 * s.TopUpM, Unit: "m3", Estimate: true,
			Basis: "strip area × depth lost in a year", Source: catalog.Practice,
			Inputs: []Input{area, in("depth lost in a year", s.TopUpM, "m")},
		})
	}
	if ha := c.servedHa(); ha > 0 {
		c.add(Quantity{
			Key: "chips_rate", Name: "Chips laid on the ground served by the rows", Value: laidM3 / ha, Unit: "m3/ha",
			Basis: "volume laid ÷ ground served by the rows", Source: catalog.Definition,
			Inputs: []Input{in("volume laid", laidM3, "m3"), in("ground served", ha, "ha")},
		})
	}
}

// tape counts the drip tape.
func (c *counter) tape() {
	t := c.spec.Tape
	lines := float64(t.LinesCount)
	slack := 1 + t.SlackPct/100
	lengthM := c.each(func(groundM float64, take *RowTake) float64 {
		take.TapeCutM = lines * (groundM + 2*t.EndM) * slack
		return take.TapeCutM
	})
	length := in("tape length", lengthM, "m")
	c.add(Quantity{
		Key: "tape_length", Name: "Drip tape", Value: lengthM, Unit: "m",
		Basis:  "lines × (ground length + 2 × end extra for each piece) × (1 + slack)",
		Source: catalog.Practice,
		Inputs: []Input{
			in("lines for each row", lines, "lines"), c.ground(), c.pieces(), in("end extra", t.EndM, "m"), in("slack", t.SlackPct, "%"),
		},
	})
	c.add(Quantity{
		Key: "tape_runs", Name: "Drip tape, runs to connect and close", Value: lines * float64(len(c.takes)), Unit: "runs",
		Basis: "lines × pieces: each run is fed at one end and closed at the other", Source: catalog.Definition,
		Inputs: []Input{in("lines for each row", lines, "lines"), c.pieces()},
	})
	c.add(Quantity{
		Key: "tape_rolls", Name: "Drip tape, whole rolls", Value: whole(lengthM, t.RollM), Unit: "rolls",
		Basis: "tape length ÷ length on a roll, rounded up", Source: catalog.Definition,
		Inputs: []Input{length, in("length on a roll", t.RollM, "m")},
	})
	if kgM := t.kgPerM(); kgM > 0 {
		c.add(Quantity{
			Key: "tape_mass", Name: "Drip tape, mass to be taken up again", Value: lengthM * kgM, Unit: "kg",
			Basis: "tape length × π × (inside + wall) × wall × density", Source: catalog.Definition,
			Inputs: []Input{
				length, in("inside", t.InsideMM, "mm"), in("wall", t.WallUm, "um"), in("density", t.DensityKgM3, "kg/m3"),
			},
		})
	}
}

// kgPerM is the mass of one metre of empty tape: a ring of plastic.
func (t Tape) kgPerM() float64 {
	insideM, wallM := t.InsideMM/1000, t.WallUm/umPerM
	return math.Pi * (insideM + wallM) * wallM * t.DensityKgM3
}

// countPlants counts the stations of a piece into the last RowTake.
func (c *counter) countPlants(r rows.Row, p rows.Piece) error {
	kinds := c.layout.Spec.Plants
	take := &c.takes[len(c.takes)-1]
	if len(kinds) > 0 {
		take.PlantsNo = make([]int, len(kinds))
	}
	for i, s := range p.Stations {
		if s.Plant < 0 || s.Plant >= len(kinds) {
			return fmt.Errorf("row %s: station %d is of plant %d, but the plan has %d: lay the rows again",
				c.layout.PieceName(r, p), i+1, s.Plant+1, len(kinds))
		}
		take.PlantsNo[s.Plant]++
	}
	return nil
}

// plants counts plants by name, and the holes for them: one each. Under two
// sheets the trees stand already and take no hole.
func (c *counter) plants() {
	kinds := c.layout.Spec.Plants
	if len(kinds) == 0 {
		return // nothing was asked about plants
	}
	var order []string
	number := map[string]int{}
	all := 0
	for k, p := range kinds {
		if _, known := number[p.Plant]; !known {
			order = append(order, p.Plant)
		}
		for _, t := range c.takes {
			number[p.Plant] += t.PlantsNo[k]
			all += t.PlantsNo[k]
		}
	}
	basis := "count of the stations of all pieces"
	if c.spec.Cover == TwoSheet {
		basis += "; under two sheets the plants stand already"
	}
	c.add(Quantity{
		Key: "plants", Name: "Plants", Value: float64(all), Unit: "plants",
		Basis: basis, Source: catalog.Definition, Inputs: []Input{c.pieces()},
	})
	used := map[string]bool{}
	for _, name := range order {
		key := "plants_" + slug(name)
		for n := 2; used[key]; n++ {
			key = fmt.Sprintf("plants_%s_%d", slug(name), n)
		}
		used[key] = true
		c.add(Quantity{
			Key: key, Name: "Plants: " + name, Value: float64(number[name]), Unit: "plants",
			Basis: "count of the stations of this plant", Source: catalog.Definition, Inputs: []Input{c.pieces()},
		})
	}
	if c.spec.Cover != TwoSheet {
		c.add(Quantity{
			Key: "holes", Name: "Planting holes", Value: float64(all), Unit: "holes",
			Basis: "one for each plant", Source: catalog.Practice, Inputs: []Input{in("plants", float64(all), "plants")},
		})
	}
	if ha := c.servedHa(); ha > 0 && all > 0 {
		c.add(Quantity{
			Key: "plant_density", Name: "Plants on the ground served by the rows", Value: float64(all) / ha, Unit: "plants/ha",
			Basis: "plants ÷ ground served by the rows", Source: catalog.Definition,
			Inputs: []Input{in("plants", float64(all), "plants"), in("ground served", ha, "ha")},
		})
	}
}

// slug is a name in the letters and digits of a key: "Red currant" is
// red_currant.
func slug(name string) string {
	words := strings.FieldsFunc(strings.ToLower(name), func(r rune) bool {
		return !unicode.IsLetter(r) && !unicode.IsDigit(r)
	})
	if len(words) == 0 {
		return "unnamed"
	}
	return strings.Join(words, "_")
}
