// Package pipeline is the one place that knows the whole order of work: files
// to field, field to rows, rows to take-off, all of it to the result document.
package pipeline

import (
	"context"
	"runtime"

	"github.com/paulmach/orb"

	"hemrow/cmd/hemrow/internal/folder"
	"hemrow/cmd/hemrow/internal/plan"
	"hemrow/cmd/hemrow/internal/report"
	"hemrow/cmd/hemrow/internal/result"
	"hemrow/geo"
	"hemrow/geo/crs"
	"hemrow/geo/field"
	"hemrow/geo/format"
	"hemrow/geo/format/delivery"
	"hemrow/geo/terrain"
	"hemrow/materials"
	"hemrow/rows"
)

// Job is one plan with the means to find its files.
type Job struct {
	Plan    plan.Plan
	Find    Find
	Version string
	// PlanFile is the plan file itself, nil when there is none.
	PlanFile *result.InputFile
	// Step is told the name of each step as it begins; may be nil.
	Step func(name string)
}

// Run carries a job through: read, build the field, lay the rows, count the
// material, write the document.
func Run(ctx context.Context, j Job) (result.Document, error) {
	r := run{Job: j, inputs: inputs{find: j.Find}}
	if j.PlanFile != nil {
		r.files = append(r.files, *j.PlanFile)
	}
	r.step("reading")
	f, err := r.field(ctx)
	if err != nil {
		return result.Document{}, err
	}
	if f, err = r.terrain(ctx, f); err != nil {
		return result.Document{}, err
	}
	r.step("laying rows")
	layer := rows.Planner{Workers: runtime.GOMAXPROCS(0), Step: r.Step}
	layout, notes, err := layer.Plan(ctx, f, j.Plan.RowSpec())
	if err != nil {
		return result.Document{}, err
	}
	r.note(notes)
	areas, notes := workingAreas(layout)
	r.note(notes)
	r.step("counting material")
	takeoff, notes, err := materials.Compute(ctx, layout, j.Plan.Materials)
	if err != nil {
		return result.Document{}, err
	}
	r.note(notes)
	interval, levels := levelLines(f)
	return result.New(result.Input{
		Program: "hemrow", Version: j.Version, PlanEcho: echo(j.Plan), Files: r.files,
		Field: f, Relief: r.relief, IntervalM: interval, Levels: levels, Layout: layout, WorkingAreas: areas, Takeoff: takeoff, Notes: r.notes,
		Units: j.Plan.Units.String(),
	})
}

// run is a job on its way.
type run struct {
	Job
	inputs
	notes  geo.Notes
	grid   *crs.Grid     // of datum shifts, nil for none
	relief *field.Relief // nil without terrain
}

func (r *run) step(name string) {
	if r.Step != nil {
		r.Step(name)
	}
}

func (r *run) note(more geo.Notes) { r.notes = append(r.notes, more...) }

// field reads the outline and the obstacles and builds the field.
func (r *run) field(ctx context.Context) (geo.Field, error) {
	p := r.Plan.Field
	opt := delivery.Options{Layer: p.Layer, Columns: p.Columns}
	outline, err := r.features(p.Outline, "outline", opt)
	if err != nil {
		return geo.Field{}, err
	}
	r.note(outline.Notes)
	var obstacles []format.File
	for _, name := range p.Obstacles {
		o, err := r.features(name, "obstacle", delivery.Options{})
		if err != nil {
			return geo.Field{}, err
		}
		r.note(o.Notes)
		obstacles = append(obstacles, o)
	}
	spec := FieldSpec(r.Plan)
	if spec.CRS, err = delivery.SystemText(p.CRS, r.find); err != nil {
		return geo.Field{}, err
	}
	spec.Terrain = len(r.Plan.Terrain.Heights) > 0
	if spec.DatumGrid, err = r.datumGrid(p.DatumGrid); err != nil {
		return geo.Field{}, err
	}
	r.grid = spec.DatumGrid
	r.step("checking the field")
	f, notes, err := field.Build(ctx, outline, obstacles, spec)
	if err != nil {
		return geo.Field{}, err
	}
	r.note(notes)
	if r.Plan.Name != "" {
		f.Name = r.Plan.Name
	}
	return f, nil
}

// datumGrid reads a grid of datum shifts, nil for none.
func (r *run) datumGrid(name string) (g *crs.Grid, err error) {
	if name == "" {
		return nil, nil
	}
	err = r.read(name, "datum grid", func(src delivery.Source) (string, error) {
		g, err = delivery.DatumGrid(src)
		return "NTv2", err
	})
	return g, err
}

// terrain reads the heights, if the plan has any, and puts them into the field.
func (r *run) terrain(ctx context.Context, f geo.Field) (geo.Field, error) {
	if len(r.Plan.Terrain.Heights) == 0 {
		return f, nil
	}
	r.step("reading the terrain")
	t, err := r.surveys(r.Plan, r.grid)
	if err != nil {
		return f, err
	}
	defer t.Close()
	r.note(t.notes)
	f, relief, notes, err := t.Lay(ctx, f)
	r.note(notes)
	r.relief = &relief
	return f, err
}

// levelsBeyondM is how far beyond the outlines level lines are drawn.
const levelsBeyondM = 20

// levelLines are the level lines of a field for its map, none without terrain.
func levelLines(f geo.Field) (intervalM float64, lines []terrain.Contour) {
	if f.Surface == nil {
		return 0, nil
	}
	return terrain.Drawn(f.Surface, f.Bound().Pad(levelsBeyondM))
}

// FieldSpec is the field section of a plan in the words of geo/field.
func FieldSpec(p plan.Plan) field.Spec {
	return field.Spec{
		CRS: p.Field.CRS, Choose: p.Field.Choose, ObstacleMark: p.Field.ObstacleMark,
		SwapAxes: p.Field.SwapAxes, CloseLines: p.Field.CloseLines,
		SplitCrossings: p.Field.SplitCrossings, Strict: p.Field.Strict,
	}
}

// workingAreas is the working area of each block, for the map. It is drawn
// from the outline with the clearances, not from the rows.
// One that cannot be confirmed is left out with a note: the rows stand.
func workingAreas(l rows.Layout) (out []orb.MultiPolygon, notes geo.Notes) {
	out = make([]orb.MultiPolygon, len(l.Blocks))
	for i, b := range l.Blocks {
		a, err := l.WorkingArea(i)
		if err != nil {
			notes = append(notes, geo.Note{
				Code: geo.NoteAreaNotDrawn, Severity: geo.Info, Place: "block " + b.Name,
				Text: "the working area is not drawn nor counted, since it could not be confirmed: " + err.Error(),
				Hint: "rows and quantities do not depend on it",
			})
			continue
		}
		out[i] = a
	}
	return out, notes
}

func echo(p plan.Plan) []result.EchoLine {
	var out []result.EchoLine
	for _, e := range p.Echo() {
		out = append(out, result.EchoLine{Section: e.Section, Key: e.Key, Text: e.Text, FromFile: e.FromFile})
	}
	return out
}

// Outputs makes every file of the output folder from the document alone.
func Outputs(doc result.Document) ([]folder.File, error) {
	js, err := result.Encode(doc)
	if err != nil {
		return nil, err
	}
	return []folder.File{
		{Name: "hemrow.json", Data: js},
		{Name: "hemrow.schema.json", Data: result.Schema()},
		{Name: "summary.txt", Data: report.Summary(doc, doc.Units)},
		{Name: "map.svg", Data: report.MapSVG(doc)},
		{Name: "rows.geojson", Data: report.RowsGeoJSON(doc)},
		{Name: "rows.csv", Data: report.RowsCSV(doc)},
		{Name: "take-off.csv", Data: report.TakeoffCSV(doc)},
	}, nil
}
