// Package pipeline is the one place that knows the whole order of work: files
// to field, field to rows, rows to take-off, all of it to the result document.
package pipeline

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"path/filepath"

	"github.com/paulmach/orb"

	"hemrow/cmd/hemrow/internal/folder"
	"hemrow/cmd/hemrow/internal/plan"
	"hemrow/cmd/hemrow/internal/report"
	"hemrow/cmd/hemrow/internal/result"
	"hemrow/geo"
	"hemrow/geo/field"
	"hemrow/geo/format"
	"hemrow/geo/format/geojson"
	"hemrow/materials"
	"hemrow/rows"
)

// Open reads a whole file named in a plan.
type Open func(name string) ([]byte, error)

// Job is one plan with the means to read its files.
type Job struct {
	Plan    plan.Plan
	Open    Open
	Version string
	// PlanFile is the plan file itself, nil when there is none.
	PlanFile *result.InputFile
	// Step is told the name of each step as it begins; may be nil.
	Step func(name string)
}

// Run carries a job through: read, build the field, lay the rows, count the
// material, write the document.
func Run(ctx context.Context, j Job) (result.Document, error) {
	step := func(name string) {
		if j.Step != nil {
			j.Step(name)
		}
	}
	var notes geo.Notes
	var files []result.InputFile
	if j.PlanFile != nil {
		files = append(files, *j.PlanFile)
	}
	step("reading")
	outline, err := j.read(j.Plan.Field.Outline, "outline", &files, &notes)
	if err != nil {
		return result.Document{}, err
	}
	var obstacles []format.File
	for _, name := range j.Plan.Field.Obstacles {
		o, err := j.read(name, "obstacle", &files, &notes)
		if err != nil {
			return result.Document{}, err
		}
		obstacles = append(obstacles, o)
	}
	step("checking the field")
	f, more, err := field.Build(ctx, outline, obstacles, FieldSpec(j.Plan))
	if err != nil {
		return result.Document{}, err
	}
	notes = append(notes, more...)
	if j.Plan.Name != "" {
		f.Name = j.Plan.Name
	}
	step("laying rows")
	layout, more, err := rows.Plan(ctx, f, j.Plan.Rows)
	if err != nil {
		return result.Document{}, err
	}
	notes = append(notes, more...)
	areas, more := workingAreas(layout)
	notes = append(notes, more...)
	step("counting material")
	takeoff, more, err := materials.Compute(ctx, layout, j.Plan.Materials)
	if err != nil {
		return result.Document{}, err
	}
	notes = append(notes, more...)
	return result.New(result.Input{
		Program: "hemrow", Version: j.Version, PlanEcho: echo(j.Plan), Files: files,
		Field: f, Layout: layout, WorkingAreas: areas, Takeoff: takeoff, Notes: notes,
		Units: j.Plan.Units.String(),
	})
}

// read opens and decodes one file and records its checksum.
func (j Job) read(name, role string, files *[]result.InputFile, notes *geo.Notes) (format.File, error) {
	data, err := j.Open(name)
	if err != nil {
		return format.File{}, &geo.InputError{File: name, Problem: "cannot be read: " + err.Error()}
	}
	f, err := geojson.Read(name, bytes.NewReader(data))
	if err != nil {
		return format.File{}, err
	}
	*files = append(*files, Describe(name, f.Format, role, data))
	*notes = append(*notes, f.Notes...)
	return f, nil
}

// Describe is a file as the document records it: by its base name, since the
// folder it lay in says nothing about what it holds.
func Describe(name, kind, role string, data []byte) result.InputFile {
	sum := sha256.Sum256(data)
	return result.InputFile{
		File: filepath.Base(name), Format: kind, Role: role,
		Bytes: int64(len(data)), SHA256: hex.EncodeToString(sum[:]),
	}
}

// FieldSpec is the field section of a plan in the words of geo/field.
func FieldSpec(p plan.Plan) field.Spec {
	return field.Spec{
		Choose: p.Field.Choose, ObstacleMark: p.Field.ObstacleMark,
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
