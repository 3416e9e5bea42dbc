package report

import (
	"bytes"
	"encoding/csv"
	"strconv"
	"strings"

	"hemrow/cmd/hemrow/internal/result"
)

// RowsCSV lists every piece of row with its ends, lengths and what it takes.
// It is CSV by RFC 4180 with CRLF, UTF-8, metric whatever the reader's units:
// the head of a column says the unit. across_m is empty for rows that follow
// the land: they lie on no grid.
func RowsCSV(d result.Document) []byte {
	head := []string{
		"name", "row", "part", "block", "end_a", "end_b", "across_m", "zone", "plan_m", "ground_m",
		"lowest_m", "highest_m", "steepest_grade_pct", "greatest_side_slope_pct", "off_terrain_m", "a_lon_deg", "a_lat_deg", "b_lon_deg", "b_lat_deg", "a_x_m", "a_y_m", "b_x_m", "b_y_m",
		"film_cut_all_sheets_m", "film_m2", "trench_edges_m", "tape_cut_m", "stones_no", "stones_kg", "chips_m3",
	}
	for _, p := range d.Plants {
		head = append(head, cell(p.Plant+" (plants)"))
	}
	takes := make(map[string]result.Take, len(d.Takeoff.Pieces))
	for _, t := range d.Takeoff.Pieces {
		takes[t.Piece] = t
	}
	list := newList(head)
	for _, r := range d.Rows {
		across := ""
		if !follows(d.Blocks[r.BlockNo-1]) {
			across = number(r.AcrossM)
		}
		for _, p := range r.Pieces {
			a, b := p.LineLonLat[0], p.LineLonLat[len(p.LineLonLat)-1]
			la, lb := p.LineLocal[0], p.LineLocal[len(p.LineLocal)-1]
			line := []string{cell(p.Name), strconv.Itoa(r.Number), strconv.Itoa(p.Part), cell(r.Block), cell(r.EndA), cell(r.EndB), across}
			line = append(line, numbers(float64(r.Zone), p.PlanM, p.GroundM)...)
			line = append(line, slopes(p)...)
			line = append(line, numbers(a[0], a[1], b[0], b[1], la[0], la[1], lb[0], lb[1])...)
			line = append(line, taken(takes, p.Name, len(d.Plants))...)
			list.add(line)
		}
	}
	return list.bytes()
}

// slopes are the cells of a piece's terrain, empty without any. Figures of
// slopes are empty where none of the piece has terrain.
func slopes(p result.Piece) []string {
	switch s := p.Slope; {
	case s == nil:
		return make([]string, 5)
	case s.OutsideM >= p.PlanM:
		return append(make([]string, 4), numbers(s.OutsideM)...)
	default:
		return numbers(s.LowestM, s.HighestM, s.GradePct, s.SidePct, s.OutsideM)
	}
}

// taken are the cells of a piece's take-off, empty where nothing was counted.
func taken(takes map[string]result.Take, name string, plants int) []string {
	t, ok := takes[name]
	if !ok {
		return make([]string, 7+plants)
	}
	out := numbers(t.FilmCutM, t.FilmM2, t.TrenchM, t.TapeCutM, float64(t.StonesNo), t.StonesKg, t.ChipsM3)
	for i := range plants {
		if i < len(t.PlantsNo) {
			out = append(out, strconv.Itoa(t.PlantsNo[i]))
		} else {
			out = append(out, "")
		}
	}
	return out
}

// TakeoffCSV lists every quantity with how it was counted, in the same form
// as [RowsCSV].
func TakeoffCSV(d result.Document) []byte {
	list := newList([]string{"key", "name", "value", "unit", "kind", "basis", "inputs", "source"})
	for _, q := range d.Takeoff.Quantities {
		inputs := make([]string, len(q.Inputs))
		for i, in := range q.Inputs {
			inputs[i] = strings.TrimSpace(in.Name + " = " + number(in.Value) + " " + in.Unit)
		}
		kind := "count"
		if q.Estimate {
			kind = "estimate"
		}
		list.add([]string{
			cell(q.Key), cell(q.Name), number(q.Value), cell(q.Unit), kind,
			cell(q.Basis), cell(strings.Join(inputs, "; ")), cell(q.Source),
		})
	}
	return list.bytes()
}

type list struct {
	buf *bytes.Buffer
	w   *csv.Writer
}

func newList(head []string) list {
	var b bytes.Buffer
	l := list{&b, csv.NewWriter(&b)}
	l.w.UseCRLF = true
	l.add(head)
	return l
}

// A bytes.Buffer takes every write, so no error can come of it.
func (l list) add(line []string) { _ = l.w.Write(line) }

func (l list) bytes() []byte {
	l.w.Flush()
	return l.buf.Bytes()
}

// cell is text that no spreadsheet takes for a formula: one that begins like
// a formula is given an apostrophe in front.
func cell(s string) string {
	s = clean(s)
	if s != "" && strings.ContainsRune("=+-@＝＋－＠", []rune(s)[0]) {
		return "'" + s
	}
	return s
}

// number is a number of the document as it stands there.
func number(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }

func numbers(v ...float64) []string {
	out := make([]string, len(v))
	for i := range v {
		out[i] = number(v[i])
	}
	return out
}
