package result

import (
	"fmt"

	"hemrow/geo"
	"hemrow/rows"
)

func (m *maker) plants() []Plant {
	out := make([]Plant, len(m.Layout.Spec.Plants))
	for i, p := range m.Layout.Spec.Plants {
		m.see("plant "+p.Plant, p.PitchM, p.StartM)
		out[i] = Plant{text(p.Plant), mm(p.PitchM), mm(p.StartM), p.Every, p.From}
	}
	return out
}

func (m *maker) rows() []Row {
	l := m.Layout
	out := make([]Row, len(l.Rows))
	for i, r := range l.Rows {
		row := Row{
			Name: l.Name(r), Number: r.Number, Block: text(l.Blocks[r.Block].Name), BlockNo: r.Block + 1,
			EndA: r.EndA.String(), EndB: r.EndB.String(), AcrossM: mm(r.AcrossM), Zone: m.zoneOf(r), Pieces: make([]Piece, len(r.Pieces)),
		}
		m.see("row "+row.Name, r.AcrossM)
		for k, p := range r.Pieces {
			pc := Piece{Name: l.PieceName(r, p), Part: p.Part, PlanM: mm(p.PlanM), GroundM: mm(p.GroundM)}
			m.see("row "+pc.Name, p.PlanM, p.GroundM)
			for j := range p.Line.Len() {
				q := p.Line.At(j)
				m.see("row "+pc.Name, q[0], q[1])
			}
			pc.Slope, pc.Grades = m.slope(pc.Name, p), m.grades(pc.Name, p)
			pc.LineLonLat, pc.LineLocal = m.line(p.Line)
			pc.Stations = m.stations(pc.Name, p)
			row.Pieces[k] = pc
		}
		out[i] = row
	}
	return out
}

// stations groups the plants of a piece by kind, in the order of kinds.
func (m *maker) stations(name string, p rows.Piece) []Stations {
	out := []Stations{}
	for k, plant := range m.Layout.Spec.Plants {
		s := Stations{Plant: text(plant.Plant), PlantNo: k + 1}
		for _, st := range p.Stations {
			if st.Plant != k {
				continue
			}
			m.see("a station of row "+name, st.ChainageM, st.At[0], st.At[1])
			s.ChainageM = append(s.ChainageM, mm(st.ChainageM))
			s.LonLat = append(s.LonLat, m.position(st.At))
			s.Local = append(s.Local, xy(st.At))
		}
		if len(s.ChainageM) > 0 {
			out = append(out, s)
		}
	}
	return out
}

func (m *maker) passes() ([]Pass, error) {
	l := m.Layout
	out := make([]Pass, len(l.Passes))
	for i, p := range l.Passes {
		if !m.has(p.Row, p.Piece) {
			return nil, fmt.Errorf("pass %d takes row %d, piece %d, which the layout does not have", i+1, p.Row+1, p.Piece+1)
		}
		m.see("the turn of a pass", p.TurnM)
		r := l.Rows[p.Row]
		pc := r.Pieces[p.Piece]
		out[i] = Pass{
			Piece: l.PieceName(r, pc), Row: r.Number, Part: pc.Part,
			FromB: p.FromB, Turn: p.TurnKind.String(), TurnM: mm(p.TurnM),
		}
	}
	return out, nil
}

func (m *maker) has(row, piece int) bool {
	return row >= 0 && row < len(m.Layout.Rows) && piece >= 0 && piece < len(m.Layout.Rows[row].Pieces)
}

func (m *maker) takeoff() (Takeoff, error) {
	t := m.Takeoff
	out := Takeoff{Cover: t.Spec.Cover.String(), Quantities: make([]Quantity, len(t.Quantities)), Pieces: make([]Take, len(t.Rows))}
	for i, q := range t.Quantities {
		m.see("quantity "+q.Key, q.Value)
		dq := Quantity{
			Key: text(q.Key), Name: text(q.Name), Value: quantity(q.Value, q.Unit), Unit: text(q.Unit), Basis: text(q.Basis),
			Inputs: make([]Figure, len(q.Inputs)), Source: text(q.Source), Estimate: q.Estimate,
		}
		for k, in := range q.Inputs {
			m.see("quantity "+q.Key+", "+in.Name, in.Value)
			dq.Inputs[k] = Figure{text(in.Name), figures(in.Value), text(in.Unit)}
		}
		out.Quantities[i] = dq
	}
	for i, r := range t.Rows {
		if !m.has(r.Row, r.Piece) {
			return out, fmt.Errorf("the take-off counts row %d, piece %d, which the layout does not have", r.Row+1, r.Piece+1)
		}
		if len(r.PlantsNo) != 0 && len(r.PlantsNo) != len(m.Layout.Spec.Plants) {
			return out, fmt.Errorf("the take-off counts %d kinds of plants, the layout has %d", len(r.PlantsNo), len(m.Layout.Spec.Plants))
		}
		row := m.Layout.Rows[r.Row]
		pc := row.Pieces[r.Piece]
		name := m.Layout.PieceName(row, pc)
		m.see("the take-off of row "+name, r.FilmCutM, r.FilmM2, r.TrenchM, r.TapeCutM, r.StonesKg, r.ChipsM3)
		out.Pieces[i] = Take{
			Piece: name, Row: row.Number, Part: pc.Part,
			FilmCutM: mm(r.FilmCutM), FilmM2: m2(r.FilmM2), TrenchM: mm(r.TrenchM), TapeCutM: mm(r.TapeCutM),
			StonesKg: quantity(r.StonesKg, "kg"), StonesNo: r.StoneNo, ChipsM3: quantity(r.ChipsM3, "m3"),
			PlantsNo: append([]int{}, r.PlantsNo...),
		}
	}
	return out, nil
}

func (m *maker) notes(t *Totals) []Note {
	out := make([]Note, len(m.Notes))
	for i, n := range m.Notes {
		m.see("note "+string(n.Code), n.Value, n.Limit)
		out[i] = Note{
			Code: text(string(n.Code)), Severity: n.Severity.String(), Place: text(n.Place), Text: text(n.Text),
			Hint: text(n.Hint), Value: figures(n.Value), Limit: figures(n.Limit), Unit: text(n.Unit),
		}
	}
	t.WorstNote = "none"
	if s, any := m.Notes.Worst(); any {
		t.WorstNote = s.String()
	}
	t.CautionsNo = m.Notes.Count(geo.Caution)
	return out
}

// slope is what the terrain says of a piece, nil without terrain.
func (m *maker) slope(name string, p rows.Piece) *Slope {
	s := p.Slope
	if s == nil {
		return nil
	}
	m.see("the slope of row "+name, s.Lowest.ZM, s.Highest.ZM, s.Lowest.ChainageM, s.Highest.ChainageM, s.MeanGradePct, s.ChordM,
		s.ChordGradePct, s.ChordAtM, s.ChordSidePct, s.ChordSideAtM, s.MeanSideSlopePct, s.OutsideM)
	return &Slope{
		LowestM: mm(s.Lowest.ZM), LowestAtM: mm(s.Lowest.ChainageM), HighestM: mm(s.Highest.ZM), HighestAtM: mm(s.Highest.ChainageM),
		MeanGradePct: mm(s.MeanGradePct), ChordM: mm(s.ChordM), GradePct: mm(s.ChordGradePct), GradeAtM: mm(s.ChordAtM),
		SidePct: mm(s.ChordSidePct), SideAtM: mm(s.ChordSideAtM), MeanSidePct: mm(s.MeanSideSlopePct), OutsideM: mm(s.OutsideM),
	}
}
