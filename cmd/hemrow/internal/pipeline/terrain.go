package pipeline

import (
	"context"

	"hemrow/cmd/hemrow/internal/plan"
	"hemrow/geo"
	"hemrow/geo/crs"
	"hemrow/geo/field"
	"hemrow/geo/format"
	"hemrow/geo/format/delivery"
)

// Surveys are the open files of heights of a plan, to be laid under one field
// or many. Close them after use. They may serve several goroutines.
type Surveys struct {
	heights []field.Survey
	breaks  []format.File
	spec    field.TerrainSpec
	open    []*delivery.Terrain
	notes   geo.Notes // of reading
}

// OpenSurveys opens the files of heights that a plan names; nil for none. grid
// is the plan's grid of datum shifts, nil for none.
func OpenSurveys(p plan.Plan, find Find, grid *crs.Grid) (*Surveys, error) {
	if len(p.Terrain.Heights) == 0 {
		return nil, nil
	}
	in := inputs{find: find, uncounted: true}
	return in.surveys(p, grid)
}

func (in *inputs) surveys(p plan.Plan, grid *crs.Grid) (s *Surveys, err error) {
	t := p.Terrain
	s = &Surveys{spec: field.TerrainSpec{
		DatumGrid: grid, HeightUnitM: t.HeightUnitM(),
		Bicubic: t.Between == "bicubic", LongestSideM: t.LongestSideM,
	}}
	defer func() {
		if err != nil {
			s.Close()
		}
	}()
	if s.spec.CRS, err = delivery.SystemText(t.CRS, in.find); err != nil {
		return s, err
	}
	for _, name := range t.Heights {
		var h *delivery.Terrain
		err := in.read(name, "terrain", func(src delivery.Source) (kind string, err error) {
			if h, err = delivery.Heights(src, delivery.Options{Columns: t.Columns, Layer: layerOf(name)}); err != nil {
				return "", err
			}
			return h.File.Format, nil
		})
		if err != nil {
			return s, err
		}
		s.open = append(s.open, h)
		s.notes = append(s.notes, h.File.Notes...)
		s.heights = append(s.heights, field.Survey{Raster: h.Raster, File: h.File})
	}
	for _, name := range t.BreakLines {
		b, err := in.features(name, "break lines", delivery.Options{})
		if err != nil {
			return s, err
		}
		s.notes = append(s.notes, b.Notes...)
		s.breaks = append(s.breaks, b)
	}
	return s, nil
}

// Lay gives a field its terrain.
func (s *Surveys) Lay(ctx context.Context, f geo.Field) (geo.Field, field.Relief, geo.Notes, error) {
	return field.Terrain(ctx, f, s.heights, s.breaks, s.spec)
}

// Close closes the files.
func (s *Surveys) Close() {
	for _, h := range s.open {
		_ = h.Close()
	}
}
