package main

import (
	"bufio"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math"
	"os"
	"runtime"
	"strings"

	"github.com/schollz/progressbar/v3"
	"github.com/spf13/cobra"

	"hemrow/cmd/hemrow/internal/folder"
	"hemrow/cmd/hemrow/internal/pipeline"
	"hemrow/cmd/hemrow/internal/plan"
	"hemrow/geo"
	"hemrow/geo/format/delivery"
	"hemrow/geo/format/geojson"
	"hemrow/rows"
)

// batchFlags are the flags of batch alone.
type batchFlags struct {
	base, out, as string
	lines, totals bool
	force         bool
	workers       int
	keep          []string
}

func (a *app) batch() *cobra.Command {
	var o batchFlags
	c := &cobra.Command{
		Use:   "batch FILE | -",
		Short: "Plan thousands of outlines as a stream",
		Long: `Batch plans every feature of a stream as a field of its own and writes one
result for each, in the order of the input: a GeoJSON feature with the row lines
and the figures, or with an "error" and no geometry where a field cannot be
planned; the rest go on. "field" is the place in the input; --keep copies
properties, but for those named as figures of the result, to join results to
outlines. The input is newline-delimited GeoJSON, a text sequence (RFC 8142), a
FeatureCollection or a shapefile, in constant memory, or any other file that plan
reads; the output is GeoJSON, by --as. Features that carry the obstacle mark are
results with an error: no field has obstacles here. With --heights every field
lies on that terrain, and ground_m is its length along the slope.

The keys of a plan come from --base or from flags of the same name. To spread
work over machines, cut the input by lines: fields do not depend on each other.

--totals prints one JSON line {fields, failed, rows, pieces, length_m, seconds}
instead of the results (give --out to have both). seconds is the time spent
planning, from decoded feature to row lengths; start, reading and writing are
left out.
` + exitHelp,
		Example: `  hemrow batch fields.ndjson --spacing "5 m" --heading "along longest edge" >rows.ndjson
  split -n l/8 fields.ndjson part. && ls part.* | xargs -P 8 -I{} hemrow batch {} --out {}.rows`,
		Args: cobra.ExactArgs(1),
		RunE: func(c *cobra.Command, args []string) error { return a.runBatch(c, args[0], o) },
	}
	c.Flags().StringVar(&o.base, "base", "", "plan file whose keys to use; its outline is not")
	c.Flags().StringVarP(&o.out, "out", "o", "", "file to write the results to (default: standard output)")
	c.Flags().StringVar(&o.as, "as", "lines", "form of the output: lines, sequence or collection")
	c.Flags().BoolVar(&o.lines, "row-lines", true, "write the row lines, not the figures alone")
	c.Flags().StringSliceVar(&o.keep, "keep", []string{"id"}, "properties of the outlines to copy to the results")
	c.Flags().BoolVar(&o.totals, "totals", false, "print one line of totals instead of the results")
	c.Flags().IntVar(&o.workers, "workers", runtime.GOMAXPROCS(0), "goroutines that plan")
	c.Flags().BoolVar(&o.force, "force", false, "overwrite an existing output file")
	planFlags(c, batchKey)
	return c
}

// batchKey chooses the keys of a plan that mean something for many fields: how
// outlines are read and where rows run.
func batchKey(k plan.Key) bool {
	switch k.Name {
	case "outline", "choose", "obstacles":
		return false
	}
	return k.Section == "rows" || k.Section == "field" || k.Section == "terrain"
}

func (a *app) runBatch(c *cobra.Command, name string, o batchFlags) error {
	frame, ok := framings[o.as]
	if !ok {
		return &usageError{fmt.Errorf("--as must be lines, sequence or collection, is %q", o.as)}
	}
	if o.out == "-" && o.totals {
		return &usageError{errors.New("--totals prints on standard output, where --out - sends the results")}
	}
	if o.workers < 1 || o.workers > 1024 {
		return &usageError{fmt.Errorf("--workers must be from 1 to 1024, is %d", o.workers)}
	}
	p := plan.Default()
	if o.base != "" {
		job, err := openPlan(o.base)
		if err != nil {
			return err
		}
		if job.PlanFile == nil {
			return &usageError{fmt.Errorf("--base takes a plan file, not %s", oneLine(o.base))}
		}
		p = job.Plan
		if len(p.Field.Obstacles) > 0 || p.Field.Choose != "" {
			return &refusal{errors.New("the plan of --base has field.obstacles or field.choose, which batch cannot follow: every feature is a field of its own")}
		}
	}
	if err := override(c, &p); err != nil {
		return err
	}
	p.Field.Outline = name // of each field; the plan's own counts for nothing here
	if err := p.Validate(); err != nil {
		return &refusal{err}
	}
	stream, err := a.openStream(c.Context(), name, delivery.Options{Layer: p.Field.Layer, Columns: p.Field.Columns})
	if err != nil {
		return err
	}
	defer stream.Close()
	b := pipeline.Batch{Spec: p.RowSpec(), Workers: o.workers}
	if b.Field, err = readingSpec(p); err != nil {
		return err
	}
	b.Field.ObstacleMark = p.Field.ObstacleMark
	if b.Surveys, err = pipeline.OpenSurveys(p, finder(o.base, p), b.Field.DatumGrid); err != nil {
		return err
	}
	if b.Surveys != nil {
		defer b.Surveys.Close()
	}
	b.Progress = a.progress()
	write := func(w io.Writer) (t pipeline.Totals, err error) {
		if w == nil {
			return b.Run(c.Context(), stream, io.Discard)
		}
		b.Append = frame.append(o.lines, o.keep)
		if _, err = io.WriteString(w, frame.head); err == nil {
			t, err = b.Run(c.Context(), stream, w)
		}
		if err == nil {
			_, err = io.WriteString(w, frame.tail)
		}
		return t, err
	}
	totals, err := a.writeBatch(o, []string{name, o.base}, write)
	if err == nil && o.totals {
		err = json.NewEncoder(a.out).Encode(totalsJSON(totals))
	}
	return err
}

// openStream opens a file of many outlines; - is GeoJSON from standard input.
func (a *app) openStream(ctx context.Context, name string, opt delivery.Options) (*delivery.Stream, error) {
	if name == "-" {
		return delivery.Features("standard input", until(ctx, a.in)), nil
	}
	if info, err := os.Stat(name); err == nil && info.Mode().IsRegular() && info.Size() == 0 {
		return delivery.Features(name, strings.NewReader(noFields)), nil // a part of a file cut into more parts than lines
	}
	return delivery.OpenStream(fileSource(name), opt)
}

// noFields is an input without a field.
const noFields = `{"type":"FeatureCollection","features":[]}`

// writeBatch runs write with the place its results go to: a file that appears
// only when it is whole, standard output, or nowhere.
func (a *app) writeBatch(o batchFlags, inputs []string, write func(io.Writer) (pipeline.Totals, error)) (t pipeline.Totals, err error) {
	if o.out != "" && o.out != "-" {
		opt := folder.Options{Force: o.force, Protect: inputs}
		err = folder.WriteOne(o.out, opt, func(w io.Writer) error {
			t, err = write(w)
			return err
		})
		return t, err
	}
	if o.totals {
		return write(nil)
	}
	w := bufio.NewWriterSize(a.out, 1<<16)
	if t, err = write(w); err == nil {
		err = w.Flush()
	}
	return t, err
}

// progress shows the number of fields on a terminal.
func (a *app) progress() func(int) {
	f, ok := a.terminal()
	if !ok {
		return nil
	}
	bar := progressbar.NewOptions(-1, progressbar.OptionSetWriter(f),
		progressbar.OptionSetDescription("planning fields"), progressbar.OptionShowCount(),
		progressbar.OptionShowIts(), progressbar.OptionClearOnFinish(), progressbar.OptionThrottle(100_000_000))
	return func(done int) { _ = bar.Set(done) }
}

// millis rounds to three decimals, as all lengths are printed.
func millis(v float64) float64 { return math.Round(v*1000)/1000 + 0 }

type totalsLine struct {
	Fields  int     `json:"fields"`
	Failed  int     `json:"failed"`
	Rows    int     `json:"rows"`
	Pieces  int     `json:"pieces"`
	LengthM float64 `json:"length_m"`
	Seconds float64 `json:"seconds"` //unit:seconds
}

func totalsJSON(t pipeline.Totals) totalsLine {
	return totalsLine{t.Fields, t.Failed, t.Rows, t.Pieces, millis(t.PlantedM), math.Round(t.PlanS*1e6) / 1e6}
}

// framing is how results follow one another.
type framing struct{ head, before, after, between, tail string }

var framings = map[string]framing{
	"lines":      {after: "\n"},
	"sequence":   {before: "\x1e", after: "\n"},
	"collection": {head: "{\"type\":\"FeatureCollection\",\"features\":[\n", between: ",\n", tail: "\n]}\n"},
}

func (f framing) append(lines bool, keep []string) func([]byte, pipeline.BatchResult) []byte {
	return func(b []byte, r pipeline.BatchResult) []byte {
		if r.Number > 1 {
			b = append(b, f.between...)
		}
		b = append(b, f.before...)
		b = geojson.AppendFeature(b, batchFeature(r, lines, keep))
		return append(b, f.after...)
	}
}

// ownProperty reports whether a result has a property of that name itself.
func ownProperty(key string) bool {
	switch key {
	case "field", "name", "error", "hint", "heading_deg", "headings_deg", "blocks_bent", "inside_limits_ha", "inside_limits_straight_ha", "on_grade_pct", "worst_grade_pct", "rows", "pieces", "length_m", "ground_m", "blocks", "spacing_m", "cautions":
		return true
	}
	return false
}

// groundM is the length of all rows along the slope.
func groundM(l rows.Layout) float64 {
	var sum geo.Sum
	for _, r := range l.Rows {
		for _, p := range r.Pieces {
			sum.Add(p.GroundM)
		}
	}
	return sum.Value()
}

// addCurved adds what tells fields apart that rows which follow the land serve:
// how many blocks are bent, and over all that were compared the hectares inside
// every limit, as laid and straight, the share of known ground on which rows keep
// the grade, and the worst.
func addCurved(add func(key string, v any), l rows.Layout) {
	var bent int
	var good, straight, onM, knownM, worst float64
	for _, b := range l.Blocks {
		if b.Bent {
			bent++
		}
		if b.Curved == nil {
			continue
		}
		laid := b.Curved.Laid()
		s := &laid.Score
		known := s.LengthM * (1 - s.NoGroundRatio)
		good, straight = good+laid.GoodHa, straight+b.Curved.Choice.Candidates[0].GoodHa
		onM, knownM, worst = onM+known*s.OnGradeRatio, knownM+known, max(worst, s.GradeMaxRatio)
	}
	add("blocks_bent", bent)
	if knownM > 0 {
		add("inside_limits_ha", millis(good))
		add("inside_limits_straight_ha", millis(straight))
		add("on_grade_pct", millis(100*onM/knownM))
		add("worst_grade_pct", millis(100*worst))
	}
}

// batchFeature is the result of one field as a GeoJSON feature.
func batchFeature(r pipeline.BatchResult, lines bool, keep []string) geojson.OutFeature {
	out := geojson.OutFeature{ID: r.Feature.ID, IDNumber: r.Feature.IDNumber}
	add := func(key string, v any) { out.Properties = append(out.Properties, geojson.Property{Key: key, Value: v}) }
	add("field", r.Number)
	for _, key := range keep {
		if v, ok := r.Feature.Properties[key]; ok && !ownProperty(key) {
			add(key, v)
		}
	}
	if r.Feature.Name != "" {
		add("name", r.Feature.Name)
	}
	if r.Err != nil {
		f := faultOf(r.Err)
		add("error", r.Err.Error())
		if f.Hint != "" {
			add("hint", f.Hint)
		}
		return out
	}
	l := r.Layout
	pieces, planted := 0, 0.0
	headings := make([]float64, 0, len(l.Blocks))
	for _, b := range l.Blocks {
		pieces += b.Tally.Pieces
		planted += b.Tally.PlantedM
		headings = append(headings, math.Mod(millis(b.Heading.Deg()), 180))
	}
	if len(headings) == 1 {
		add("heading_deg", headings[0])
	} else {
		add("headings_deg", headings) // by block
	}
	if l.Spec.Style != rows.StyleStraight {
		addCurved(add, l)
	}
	add("rows", len(l.Rows))
	add("pieces", pieces)
	add("length_m", millis(planted))
	if l.Field.Surface != nil {
		add("ground_m", millis(groundM(l)))
	}
	add("blocks", len(l.Blocks))
	add("spacing_m", l.Spec.SpacingM)
	add("cautions", r.Notes.Count(geo.Caution))
	if !lines {
		return out
	}
	for _, row := range l.Rows {
		for _, p := range row.Pieces {
			out.Geometry.Lines = append(out.Geometry.Lines, geojson.Path{At: l.Field.Frame.Course(p.Line)})
		}
	}
	return out
}
