package materials

import "hemrow/materials/catalog"

// DefaultSpec holds the defaults for a cover. Every section is filled, so that
// a plan may turn a cover into another without naming all its figures.
//
// Where the catalog has a source the figure is the catalog's; all others are
// common practice, no source: the widths, the roll of film that one person can
// still lift, laps of 0.15 to 0.30 m, end tucks of 0.5 to 1 m, 3 to 5 % waste,
// film of 75 to 150 µm where it stays for years, a trench of 0.15 m by 0.15 m,
// stones of 0.15 m, a chip strip of 1.2 m by 0.15 m and the tape.
func DefaultSpec(kind CoverKind) Spec {
	of := func(id catalog.ID) float64 { return catalog.Get(id).Value }
	s := Spec{
		Cover: kind,
		Film: Film{
			WidthM:      1.2,
			ThicknessUm: 80,
			DensityKgM3: of(catalog.FilmDensity),
			RollM:       250,
			TuckM:       of(catalog.EdgeTuck),
			LapM:        0.2,
			EndTuckM:    0.75,
			WastePct:    5,
			BedWidthM:   0.9,
			LiftLimitKg: of(catalog.LiftLimit),
			ThinFilmUm:  75,
		},
		Trench: Trench{DepthM: 0.15, WidthM: 0.15, SwellPct: of(catalog.LoamSwell), Soil: "loam"},
		Seam: Seam{
			WindMS:      of(catalog.GaleWind),
			RoughnessM:  of(catalog.SmoothGround),
			SafetyRatio: of(catalog.SeamSafety),
			StoneMM:     150,
			StoneKgM3:   of(catalog.StoneDensity),
			MostApartM:  of(catalog.StoneGap),
		},
		Chips: ChipStrip{
			WidthM: 1.2, DepthM: 0.15, BulkKgM3: of(catalog.ChipBulk),
			LoadM3: 12, TopUpM: of(catalog.ChipLoss), SettlePct: 10,
		},
		Tape: Tape{
			EndM: 1, SlackPct: 2, RollM: 1000,
			InsideMM: 16.1, WallUm: 380, DensityKgM3: of(catalog.FilmDensity),
		},
	}
	switch kind {
	case OneSheet:
		s.Tape.LinesCount = 1
	case TwoSheet:
		s.Film.WidthM = 0.9
		s.Film.BedWidthM = 1.2
		s.Tape.LinesCount = 2 // one on each side of the trees
	}
	return s
}
