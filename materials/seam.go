package materials

import (
	"math"

	"hemrow/geo"
	"hemrow/materials/catalog"
)

// The seam of two sheets is held down by stones. No published rule for film
// was found; the need is estimated in two ways that use different physics for
// the height of the wind, and both are printed:
//
//   - by the lip: the wind of the logarithmic law at 0.3 m presses under the
//     loose edge with its full dynamic pressure, times a safety, less the weight
//     of the film;
//   - by suction: the wind at 10 m sucks on the film as on a flat membrane,
//     without reduction for height and without safety.
//
// The stones are laid for the first; the second is a check beside it.

// logWindRatio is the wind at heightM as a share of that at referenceM over
// ground of roughness length roughM, all in metres: ln(z/z0) / ln(zr/z0).
// It needs heights above the roughness length.
func logWindRatio(heightM, referenceM, roughM float64) float64 {
	return math.Log(heightM/roughM) / math.Log(referenceM/roughM)
}

// dynamicPa is the dynamic pressure of air, ½ ρ u², in pascals.
func dynamicPa(airKgM3, windMS float64) float64 { return 0.5 * airKgM3 * windMS * windMS }

// sphereKg is the mass of a sphere: ρ π d³ / 6.
func sphereKg(acrossM, densityKgM3 float64) float64 {
	return densityKgM3 * math.Pi * acrossM * acrossM * acrossM / 6
}

// hold is what the wind asks of one metre of seam.
type hold struct {
	windMS float64 // at the seam
	lipPa  float64
	spanM  float64 // width of film that the seam answers for
	filmKg float64 // mass of film, kg/m2
	lipKgM float64 // by the lip, kg per metre of seam
	suckKg float64 // by suction, kg per metre of seam
}

// holdSeam is the need of the seam for a film of mass filmKgM2 of which the
// seam holds spanM of width.
func holdSeam(s Seam, spanM, filmKgM2 float64) hold {
	of := func(id catalog.ID) float64 { return catalog.Get(id).Value }
	h := hold{spanM: spanM, filmKg: filmKgM2}
	h.windMS = s.WindMS * logWindRatio(of(catalog.SeamHeight), of(catalog.WindHeight), s.RoughnessM)
	h.lipPa = dynamicPa(of(catalog.AirDensity), h.windMS)
	load := s.SafetyRatio * of(catalog.LipFactor) * h.lipPa * spanM / geo.GravityMS2
	h.lipKgM = math.Max(0, load-filmKgM2*spanM)
	h.suckKg = of(catalog.FlatSuction) * dynamicPa(of(catalog.AirDensity), s.WindMS) * spanM / geo.GravityMS2
	return h
}

// stoneKg is the mass of one stone.
func (s Seam) stoneKg() float64 { return sphereKg(s.StoneMM/1000, s.StoneKgM3) }

// gapM is the distance between stones that holds kgM kilograms on each metre,
// at most the widest gap.
func (s Seam) gapM(kgM float64) float64 {
	if kgM <= 0 {
		return s.MostApartM
	}
	return math.Min(s.MostApartM, s.stoneKg()/kgM)
}

// need is the seam's need for this spec: between the seam and either buried
// edge the film is held at both sides, so the seam answers for half of it.
func (s Spec) need() hold {
	return holdSeam(s.Seam, s.CoveredM()/2, s.Film.ThicknessUm/umPerM*s.Film.DensityKgM3)
}

// seam counts the stones.
func (c *counter) seam() {
	c.hold = c.spec.need()
	s, h := c.spec.Seam, c.hold
	gapM := s.gapM(h.lipKgM)
	stones := c.each(func(groundM float64, t *RowTake) float64 {
		n := whole(groundM, gapM) + 1
		t.StoneNo = int(n)
		t.StonesKg = n * s.stoneKg()
		return n
	})
	c.add(Quantity{
		Key: "seam_length", Name: "Seam", Value: c.totalM, Unit: "m",
		Basis: "ground length of all pieces", Source: catalog.Definition, Inputs: []Input{c.ground()},
	})
	c.needs(h)
	c.add(Quantity{
		Key: "stone_each", Name: "Mass of one stone", Value: s.stoneKg(), Unit: "kg", Estimate: true,
		Basis: "density × π × size³ ÷ 6, a sphere", Source: catalog.Definition,
		Inputs: []Input{in("size", s.StoneMM, "mm"), in("density", s.StoneKgM3, "kg/m3")},
	})
	c.add(Quantity{
		Key: "stone_gap", Name: "From stone to stone", Value: gapM, Unit: "m", Estimate: true,
		Basis: "mass of one stone ÷ mass to lie on a metre, at most the widest gap", Source: catalog.Practice,
		Inputs: []Input{in("mass of one stone", s.stoneKg(), "kg"), in("mass on a metre", h.lipKgM, "kg/m"), in("widest gap", s.MostApartM, "m")},
	})
	c.add(Quantity{
		Key: "stones", Name: "Stones on the seam", Value: stones, Unit: "stones", Estimate: true,
		Basis: "for each piece: ground length ÷ gap, rounded up, and one more, so that both ends have one", Source: catalog.Definition,
		Inputs: []Input{c.ground(), c.pieces(), in("from stone to stone", gapM, "m")},
	})
	c.add(Quantity{
		Key: "stones_mass", Name: "Stones on the seam, mass", Value: stones * s.stoneKg(), Unit: "kg", Estimate: true,
		Basis: "stones × mass of one", Source: catalog.Definition,
		Inputs: []Input{in("stones", stones, "stones"), in("mass of one stone", s.stoneKg(), "kg")},
	})
}

// needs lists the mass to lie on a metre of seam, both ways.
func (c *counter) needs(h hold) {
	s := c.spec.Seam
	c.add(Quantity{
		Key: "seam_hold", Name: "Mass to lie along the seam", Value: h.lipKgM, Unit: "kg/m", Estimate: true,
		Basis: "safety × pressure factor × ½ × density of air × (wind at the seam)² × width held ÷ g − mass of the film held; " +
			"wind at the seam = wind at 10 m × ln(0.3 m ÷ roughness) ÷ ln(10 m ÷ roughness)",
		Source: "logarithmic wind profile and dynamic pressure as in EN 1991-1-4:2005, 4.3 to 4.5; factor and height " + catalog.Practice,
		Inputs: []Input{
			in("wind at 10 m", s.WindMS, "m/s"), in("roughness", s.RoughnessM, "m"), in("wind at the seam", h.windMS, "m/s"),
			in("pressure", h.lipPa, "Pa"), in("safety", s.SafetyRatio, "times"), in("width held", h.spanM, "m"),
			in("mass of film", h.filmKg, "kg/m2"),
		},
	})
	c.add(Quantity{
		Key: "seam_hold_check", Name: "The same, by suction on a flat sheet", Value: h.suckKg, Unit: "kg/m", Estimate: true,
		Basis:  "suction factor × ½ × density of air × (wind at 10 m)² × width held ÷ g; a check, the stones follow the figure above",
		Source: catalog.Get(catalog.FlatSuction).Source,
		Inputs: []Input{
			in("wind at 10 m", s.WindMS, "m/s"), in("suction factor", catalog.Get(catalog.FlatSuction).Value, "ratio"),
			in("width held", h.spanM, "m"),
		},
	})
}
