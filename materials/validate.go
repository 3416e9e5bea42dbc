package materials

import (
	"errors"
	"fmt"
)

// Fault is one fault of a [Spec], at a path of the plan such as
// "cover.film_width".
type Fault struct{ Path, Problem string }

func (f *Fault) Error() string { return f.Path + ": " + f.Problem }

// faults collects what is wrong with a spec.
type faults []error

func (fs *faults) bad(path, format string, args ...any) {
	*fs = append(*fs, &Fault{path, fmt.Sprintf(format, args...)})
}

// within wants least <= v <= most, which no NaN fulfils.
func (fs *faults) within(path string, v, least, most float64, unit string) bool {
	if v >= least && v <= most {
		return true
	}
	fs.bad(path, "must be from %g to %g %s, is %g", least, most, unit, v)
	return false
}

// Validate returns all faults of the spec at once, joined; each is a [*Fault].
// Only the sections that the cover uses are looked at: chips need no film, and
// tape counts for nothing without lines.
//
// The bounds are wide: they refuse what cannot be meant, such as a film of 80
// metres for 80 micrometres. What is only unwise gets a note from [Compute].
func (s Spec) Validate() error {
	var fs faults
	switch s.Cover {
	case NoCover:
	case OneSheet, TwoSheet:
		fs.film(s)
		fs.trench(s.Trench)
		if s.Cover == TwoSheet {
			fs.seam(s.Seam)
		}
	case Chips:
		fs.chips(s.Chips)
	default:
		fs.bad("cover.covering", "must be one of none, one sheet, two sheets, chips")
	}
	fs.tape(s.Tape)
	return errors.Join(fs...)
}

func (fs *faults) film(s Spec) {
	f := s.Film
	known := fs.within("cover.film_width", f.WidthM, 0.1, 20, "m")
	fs.within("cover.film_thickness", f.ThicknessUm, 5, 5000, "um")
	fs.within("cover.film_density", f.DensityKgM3, 100, 2000, "kg/m3")
	fs.within("cover.roll_length", f.RollM, 1, 1e5, "m")
	known = fs.within("cover.edge_tuck", f.TuckM, 0, 2, "m") && known
	fs.within("cover.end_tuck", f.EndTuckM, 0, 20, "m")
	fs.within("cover.film_waste", f.WastePct, 0, 100, "%")
	fs.within("cover.bed_width", f.BedWidthM, 0, 20, "m")
	fs.within("cover.lift_limit", f.LiftLimitKg, 1, 200, "kg")
	fs.within("cover.thin_film", f.ThinFilmUm, 0, 5000, "um")
	if s.Cover == TwoSheet {
		known = fs.within("cover.seam_lap", f.LapM, 0.01, 5, "m") && known
		if known && f.WidthM <= f.TuckM+f.LapM {
			fs.bad("cover.film_width", "a sheet of %g m is used up by its tuck of %g m and its lap of %g m", f.WidthM, f.TuckM, f.LapM)
		}
		return
	}
	if known && f.WidthM <= 2*f.TuckM {
		fs.bad("cover.film_width", "a sheet of %g m is used up by two tucks of %g m", f.WidthM, f.TuckM)
	}
}

func (fs *faults) trench(t Trench) {
	fs.within("trench.trench_depth", t.DepthM, 0.01, 2, "m")
	fs.within("trench.trench_width", t.WidthM, 0.005, 2, "m")
	fs.within("trench.soil_swell", t.SwellPct, 0, 200, "%")
}

func (fs *faults) seam(s Seam) {
	fs.within("seam.wind", s.WindMS, 0, 80, "m/s")
	// the law of wind over height needs ground much smoother than the height
	// of the seam, 0.3 m
	fs.within("seam.roughness", s.RoughnessM, 0.0001, 0.1, "m")
	fs.within("seam.safety", s.SafetyRatio, 0.5, 10, "times")
	fs.within("seam.stone_size", s.StoneMM, 20, 1000, "mm")
	fs.within("seam.stone_density", s.StoneKgM3, 500, 8000, "kg/m3")
	fs.within("seam.stone_gap", s.MostApartM, 0.05, 50, "m")
}

func (fs *faults) chips(c ChipStrip) {
	fs.within("chips.strip_width", c.WidthM, 0.05, 20, "m")
	fs.within("chips.chip_depth", c.DepthM, 0.005, 2, "m")
	fs.within("chips.chip_bulk", c.BulkKgM3, 20, 2000, "kg/m3")
	fs.within("chips.load_volume", c.LoadM3, 0.01, 200, "m3")
	fs.within("chips.yearly_loss", c.TopUpM, 0, 1, "m")
	fs.within("chips.settling", c.SettlePct, 0, 200, "%")
}

func (fs *faults) tape(t Tape) {
	if t.LinesCount == 0 {
		return
	}
	if t.LinesCount < 0 || t.LinesCount > 20 {
		fs.bad("tape.tape_lines", "must be from 0 to 20, is %d", t.LinesCount)
	}
	fs.within("tape.tape_end", t.EndM, 0, 50, "m")
	fs.within("tape.tape_slack", t.SlackPct, 0, 100, "%")
	fs.within("tape.tape_roll", t.RollM, 1, 1e5, "m")
	fs.within("tape.tape_inside", t.InsideMM, 0, 200, "mm")
	fs.within("tape.tape_wall", t.WallUm, 0, 20000, "um")
	fs.within("tape.tape_density", t.DensityKgM3, 0, 2000, "kg/m3")
}
