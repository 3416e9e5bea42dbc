package crs

import (
	"fmt"
	"strings"

	"hemrow/geo"
)

// nullGapM is how far a datum that is taken for WGS84 may be off it: the older
// realisations of NAD83 and GDA94 stand at 1.5 to 2 m (from memory).
const nullGapM = 2.0

// frameHint is what a reader can do about a shift that is not exact.
const frameHint = "compare a corner with the tractor's receiver before driving, and use the same correction service for survey and work"

// DatumNotes says how the positions of the system become WGS84, and how far
// that may be off, after [Definition.Near] for the place. None of it touches
// lengths or areas. Nothing is said of WGS84 itself. A record that EPSG withdrew
// is noted too.
func (d Definition) DatumNotes(place string) geo.Notes {
	var out geo.Notes
	if d.Method == WebMercator {
		out = append(out, geo.Note{
			Code: geo.NoteWebMercator, Severity: geo.Info, Place: place,
			Text: "the coordinates are Web Mercator, whose metres are longer on the map than on the ground the farther from the equator; " +
				"they are turned into longitude and latitude and never measured",
			Hint: "ask for the file in a national system or in longitude and latitude where lengths matter to others",
		})
	}
	if d.Withdrawn {
		out = append(out, d.withdrawnNote(place))
	}
	s := d.Base.Shift
	switch {
	case s == nil:
		out = append(out, d.lostNote(place))
	case s.Null && !d.isWGS84():
		out = append(out, d.nullNote(place))
	case !s.Null:
		out = append(out, d.shiftNote(place))
	}
	return out
}

// isWGS84 reports whether the datum is WGS84 by name and figure.
func (d Definition) isWGS84() bool {
	return d.Base.Code == 4326 || sameFigure(d.Base.Ellipsoid, wgs84Ellipsoid) &&
		(plainDatum(d.Base.Datum) == "wgs1984" || plainDatum(d.Base.Datum) == "worldgeodeticsystem1984")
}

func (d Definition) shiftNote(place string) geo.Note {
	s := d.Base.Shift
	n := geo.Note{
		Code: geo.NoteDatumShift, Severity: geo.Info, Place: place, Hint: frameHint,
		Text: fmt.Sprintf("positions on the datum %s were shifted to WGS84 by %s, ", d.datumName(), s.Source),
	}
	switch {
	case s.Away && s.SpreadM > 0:
		n.Text += fmt.Sprintf("which was made for another area (%s); other sets of the datum put the field about %.1f m elsewhere", s.Bounds, s.SpreadM)
		n.Value, n.Unit = s.SpreadM, "m"
	case s.Away:
		n.Text += fmt.Sprintf("which was made for another area (%s); how far off it is here is not known", s.Bounds)
	case s.SpreadM > 0:
		n.Text += fmt.Sprintf("stated to be good to about %g m; but another set made for the place and stated to be as good puts the field %.1f m elsewhere",
			s.AccuracyM, s.SpreadM)
		n.Value, n.Unit = s.SpreadM, "m"
	case s.AccuracyM > 0:
		n.Text += fmt.Sprintf("good to about %g m; lengths and areas are exact all the same", s.AccuracyM)
		n.Value, n.Unit = s.AccuracyM, "m"
	default:
		n.Text += "whose accuracy is not stated"
	}
	if s.AccuracyM == 0 || max(s.AccuracyM, s.SpreadM) > nullGapM {
		n.Severity = geo.Caution
	}
	return n
}

// withdrawnNote names what stands in for the record.
func (d Definition) withdrawnNote(place string) geo.Note {
	n := geo.Note{
		Code: geo.NoteWithdrawn, Severity: geo.Caution, Place: place,
		Text: fmt.Sprintf("EPSG withdrew the record %s, mostly a sign of an error in it; it was read as it stands", d.title()),
		Hint: "ask the surveyor which system is meant, and see that the field lies where it should",
	}
	var names []string
	for _, code := range d.ReplacedBy {
		name := Definition{Code: code}
		if r, err := ByCode(code); err == nil && r.Code == code {
			name.Name = r.Name
		}
		names = append(names, name.title())
	}
	if len(names) > 0 {
		n.Text += "; in its place stands " + strings.Join(names, " or ")
		n.Hint = fmt.Sprintf("see that the field lies where it should; if not, name the system EPSG:%d instead", d.ReplacedBy[0])
	}
	return n
}

func (d Definition) nullNote(place string) geo.Note {
	return geo.Note{
		Code: geo.NoteDatumNull, Severity: geo.Info, Place: place,
		Text: fmt.Sprintf("positions on the datum %s were taken for WGS84 as they stand; the true gap may be up to about %g m, which "+
			"moves the field as a whole and changes no length", d.datumName(), nullGapM),
		Hint:  "steer in the frame in which the field was surveyed: " + frameHint,
		Value: nullGapM, Unit: "m",
	}
}

// lostNote names the likely size, by the figure of the datum.
func (d Definition) lostNote(place string) geo.Note {
	sizeM, mostM := likelyShiftM(d.Base.Ellipsoid)
	return geo.Note{
		Code: geo.NoteDatumLost, Severity: geo.Caution, Place: place,
		Text: fmt.Sprintf("no shift from the datum %s to WGS84 is known, so that the field may lie about %.0f m off, at worst some %.0f m; lengths and areas hold",
			d.datumName(), sizeM, mostM),
		Hint: "ask the surveyor for the EPSG code of the system or a grid file (.gsb), or for the outline in WGS84, " +
			"before sending rows to a tractor",
		Value: sizeM, Unit: "m",
	}
}

func (d Definition) datumName() string {
	for _, s := range []string{d.Base.Name, d.Base.Datum} {
		if s != "" {
			return s
		}
	}
	return "of the file"
}

// GridNote says that a grid of the surveyor's stood in for the published set.
func (d Definition) GridNote(g *Grid, place string) geo.Note {
	from, to := g.Systems()
	return geo.Note{
		Code: geo.NoteDatumShift, Severity: geo.Info, Place: place,
		Text: fmt.Sprintf("positions on the datum %s were shifted by the grid %s (from %s to %s)", d.datumName(), g.Name(), from, to),
		Hint: "grids of the national survey are good to centimetres or decimetres; see what it states",
	}
}
