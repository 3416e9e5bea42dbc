package plan

import (
	"fmt"
	"math"
	"math/big"
	"strconv"
	"strings"

	"hemrow/geo"
)

// Units is how results are printed. A plan may mix units all the same, since
// each value has its own.
type Units int

// The systems of units.
const (
	Metric Units = iota
	US
)

// String is the word of the plan file.
func (u Units) String() string { return [...]string{"metric", "us"}[u] }

// ParseUnits reads metric or us.
func ParseUnits(s string) (Units, error) {
	switch strings.ToLower(strings.TrimSpace(s)) {
	case "metric":
		return Metric, nil
	case "us":
		return US, nil
	}
	return Metric, fmt.Errorf("units must be metric or us, not %s", show(s))
}

// unit is one unit of measure: num/den of the SI unit. Both are short decimals
// and the quotient is taken exactly.
type unit struct {
	names    []string // the first is the one we write
	num, den float64
}

// dimension is what a kind of value measures.
type dimension struct {
	word  string
	own   string // unit of the Spec field
	us    string // unit that US growers use for it
	units []unit
}

// dimensionOf tells the units of a kind. Lengths, thicknesses and sizes are
// all lengths; they differ in the unit that the Spec keeps.
func dimensionOf(kind Kind) dimension {
	switch kind {
	case KindThickness:
		return dimension{"length", "um", "mil", lengths()}
	case KindSize:
		return dimension{"length", "mm", "in", lengths()}
	case KindAngle:
		return dimension{"angle", "deg", "deg", []unit{{[]string{"deg", "°", "degrees"}, 1, 1}}}
	case KindPercent:
		return dimension{"percentage", "%", "%", []unit{{[]string{"%", "percent"}, 1, 1}}}
	case KindDensity:
		return dimension{"density", "kg/m3", "lb/ft3", densities()}
	case KindSpeed:
		return dimension{"speed", "m/s", "mph", speeds()}
	case KindVolume:
		return dimension{"volume", "m3", "yd3", volumes()}
	case KindMass:
		return dimension{"mass", "kg", "lb", masses()}
	default:
		return dimension{"length", "m", "ft", lengths()}
	}
}

func dimensions() []dimension {
	var all []dimension
	for _, k := range []Kind{KindLength, KindAngle, KindPercent, KindDensity, KindSpeed, KindVolume, KindMass} {
		all = append(all, dimensionOf(k))
	}
	return all
}

func lengths() []unit {
	return []unit{
		{[]string{"mm"}, 1, 1000},
		{[]string{"cm"}, 1, 100},
		{[]string{"m"}, 1, 1},
		{[]string{"km"}, 1000, 1},
		{[]string{"in", `"`}, geo.InchM, 1},
		{[]string{"ft", "'"}, geo.FootM, 1},
		{[]string{"yd"}, geo.YardM, 1},
		{[]string{"mi"}, geo.MileM, 1},
		{[]string{"mil"}, geo.MilM, 1},
		{[]string{"um"}, 1, 1e6},
	}
}

func densities() []unit {
	return []unit{
		{[]string{"kg/m3"}, 1, 1},
		{[]string{"g/cm3"}, 1000, 1},
		{[]string{"t/m3"}, 1000, 1},
		{[]string{"lb/ft3"}, geo.PoundKg, geo.CubicFootM3},
		{[]string{"lb/yd3"}, geo.PoundKg, geo.CubicYardM3},
	}
}

func speeds() []unit {
	return []unit{
		{[]string{"m/s"}, 1, 1},
		{[]string{"km/h"}, 1, 3.6},
		{[]string{"mph"}, geo.MileM, 3600},
		{[]string{"kn"}, 1852, 3600},
	}
}

func volumes() []unit {
	return []unit{
		{[]string{"m3"}, 1, 1},
		{[]string{"L", "l"}, 1, 1000},
		{[]string{"yd3"}, geo.CubicYardM3, 1},
		{[]string{"ft3"}, geo.CubicFootM3, 1},
	}
}

func masses() []unit {
	return []unit{
		{[]string{"kg"}, 1, 1},
		{[]string{"g"}, 1, 1000},
		{[]string{"t"}, 1000, 1},
		{[]string{"lb"}, geo.PoundKg, 1},
	}
}

func (d dimension) find(name string) (unit, bool) {
	for _, u := range d.units {
		for _, n := range u.names {
			if n == name {
				return u, true
			}
		}
	}
	return unit{}, false
}

// ratio is the unit counted in the dimension's own unit, exactly.
func (d dimension) ratio(u unit) *big.Rat {
	own, _ := d.find(d.own)
	r := new(big.Rat).Quo(rat(u.num), rat(u.den))
	return r.Quo(r, new(big.Rat).Quo(rat(own.num), rat(own.den)))
}

// all is every spelling; names is the ones to recommend.
func (d dimension) all() (names []string) {
	for _, u := range d.units {
		names = append(names, u.names...)
	}
	return names
}

func (d dimension) names() string {
	var w []string
	for _, u := range d.units {
		w = append(w, u.names[0])
	}
	return oneOf(w)
}

// example writes a number with the metric unit, and near it in the US one.
func (d dimension) example(v float64) string {
	metric := plain(v) + " " + d.own
	if d.us == d.own {
		return metric
	}
	return metric + " or " + d.usText(v, func(v float64) float64 { return figures(v, 2) })
}

// usText writes a value of the own unit in the US one, rounded; short lengths
// go to inches.
func (d dimension) usText(v float64, round func(float64) float64) string {
	name := d.us
	if d.word == "length" && d.own == "m" && math.Abs(v) < 3*geo.FootM && v != 0 {
		name = "in"
	}
	u, _ := d.find(name)
	r, _ := d.ratio(u).Float64()
	return plain(round(v/r)) + " " + name
}

// figures rounds to a number of leading figures.
func figures(v float64, n int) float64 {
	r, err := strconv.ParseFloat(strconv.FormatFloat(v, 'e', n-1, 64), 64)
	if err != nil { // rounded up beyond float64
		return v
	}
	return r
}
