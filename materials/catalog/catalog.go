// Package catalog holds the coefficients of the take-off, each with its source.
//
// A coefficient whose source reads "common practice, no source" is a trade
// habit and no measurement; "from memory" after a source means that the figure
// is known from that publication but was not read in it again.
package catalog

// The two sources that are no publication.
const (
	Practice   = "common practice, no source"
	Definition = "by definition"
)

// ID names a coefficient.
type ID int

// The coefficients.
const (
	AirDensity ID = iota
	WindHeight
	SeamHeight
	LipFactor
	FlatSuction
	SmoothGround
	SeamSafety
	GaleWind
	StoneDensity
	StoneGap
	FilmDensity
	LiftLimit
	EdgeTuck
	LoamSwell
	ChipBulk
	ChipBulkDry
	ChipBulkWet
	ChipLoss
	count
)

// Coefficient is one figure with its source.
type Coefficient struct {
	ID     ID
	Name   string
	Value  float64 //unit:see Unit
	Unit   string
	Source string
}

// Get is the coefficient of an ID; the zero Coefficient for an unknown one.
func Get(id ID) Coefficient {
	if id < 0 || id >= count {
		return Coefficient{}
	}
	return table()[id]
}

// All lists the coefficients in the order of their IDs.
func All() []Coefficient {
	t := table()
	return t[:]
}

func table() [count]Coefficient {
	return [count]Coefficient{
		{
			AirDensity, "density of air", 1.225, "kg/m3",
			"ISO 2533:1975 standard atmosphere at sea level, from memory",
		},
		{
			WindHeight, "height at which wind is reported", 10, "m",
			"World Meteorological Organization, Guide to Instruments (WMO-No. 8), from memory",
		},
		{SeamHeight, "height of the wind at the seam", 0.3, "m", Practice},
		{LipFactor, "pressure factor, wind under a lip", 1.0, "ratio", Practice},
		{
			FlatSuction, "suction factor, flat ground", 0.40, "ratio",
			"Giroud, Pelte and Bathurst, Uplift of Geomembranes by Wind, Geosynthetics International 2(6), 1995, from memory",
		},
		{
			SmoothGround, "roughness length of bare or covered ground", 0.01, "m",
			"EN 1991-1-4:2005, terrain category I",
		},
		{SeamSafety, "safety on the load of the wind", 1.5, "ratio", Practice},
		{
			GaleWind, "upper bound of wind force 8", 20.7, "m/s",
			"Beaufort scale, mean speeds at 10 m",
		},
		{StoneDensity, "density of field stone", 2650, "kg/m3", Practice},
		{StoneGap, "widest gap between stones", 1.5, "m", Practice},
		{
			FilmDensity, "density of polyethylene film", 920, "kg/m3",
			"Brydson, Plastics Materials, 1999: LDPE 0.92 g/cm3, read in a compilation",
		},
		{
			LiftLimit, "lift by one person in ideal conditions", 23, "kg",
			"NIOSH 94-110, Applications Manual for the Revised NIOSH Lifting Equation, rev. 2021",
		},
		{
			EdgeTuck, "film consumed by one buried edge", 0.15, "m",
			"K-State Research and Extension, Laying Plastic Mulch: trench 6 in from the edge",
		},
		{
			LoamSwell, "swell of loam, bank to loose", 25, "%",
			"published swell table of soils (projectengineer.net)",
		},
		{ChipBulk, "bulk density of wood chips", 300, "kg/m3", Practice},
		{
			ChipBulkDry, "bulk density of dry shredded chips", 178, "kg/m3",
			"CalRecycle, Calculations: 300 lb/yd3",
		},
		{
			ChipBulkWet, "bulk density of chips and bark with soil", 475, "kg/m3",
			"CalRecycle, Calculations: 800 lb/yd3",
		},
		{ChipLoss, "depth of chips lost in a year", 0.025, "m", Practice},
	}
}

// Soil is a kind of soil and how much it swells when dug.
type Soil struct {
	Name     string
	SwellPct float64
}

// SoilSource is the source of every figure of [Soils].
const SoilSource = "published swell table of soils (projectengineer.net)"

// Soils lists soils with their swell from bank to loose volume.
func Soils() []Soil {
	return []Soil{
		{"clay", 40},
		{"clay and gravel", 40},
		{"loam", 25},
		{"gravel", 12},
		{"sand", 12},
		{"hardpan", 50},
		{"blasted rock", 65},
	}
}

// BeaufortSource is the source of [BeaufortForce].
const BeaufortSource = "Beaufort scale in classes of metres a second"

// BeaufortForce is the force, 0 to 12, of a mean wind at 10 m in metres a
// second; below zero counts as calm.
func BeaufortForce(windMS float64) int {
	upper := [...]float64{0.2, 1.5, 3.3, 5.4, 7.9, 10.7, 13.8, 17.1, 20.7, 24.4, 28.4, 32.6}
	for force, most := range upper {
		if windMS <= most {
			return force
		}
	}
	return len(upper)
}
