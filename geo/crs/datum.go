package crs

import (
	"fmt"
	"math"

	"hemrow/geo"
)

// nullGapM is how far a datum that is taken for WGS84 may be off it: the older
// realisations of NAD83 and GDA94 stand at 1.5 to 2 m (from memory).
const nullGapM = 2.0

// frameHint is what a reader can do about a shift that is not exact.
const frameHint = "compare a corner with the tractor's receiver before driving, and use the same correction service for survey and work"

// DatumNotes says how the positions of the system become WGS84, and how far
// that may be off. None of it touches lengths or areas. Nothing is said of
// WGS84 itself.
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
		Text: fmt.Sprintf("positions on the datum %s were shifted to WGS84 by %s, whose accuracy is not stated", d.datumName(), s.Source),
	}
	if s.AccuracyM > 0 {
		n.Text = fmt.Sprintf("positions on the datum %s were shifted to WGS84 by %s, good to about %g m; lengths and areas are exact all the same",
			d.datumName(), s.Source, s.AccuracyM)
		n.Value, n.Unit = s.AccuracyM, "m"
	}
	if s.AccuracyM == 0 || s.AccuracyM > nullGapM {
		n.Severity = geo.Caution
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
	sizeM := likelyShiftM(d.Base.Ellipsoid)
	return geo.Note{
		Code: geo.NoteDatumLost, Severity: geo.Caution, Place: place,
		Text: fmt.Sprintf("no shift from the datum %s to WGS84 is known, so that the field may lie about %.0f m off; lengths and areas hold",
			d.datumName(), sizeM),
		Hint: "ask the surveyor for the EPSG code of the system or a grid file (.gsb), or for the outline in WGS84, " +
			"before sending rows to a tractor",
		Value: sizeM, Unit: "m",
	}
}

// likelyShiftM is about how far a position moves by the shift of a datum on a
// figure: the median over the datums of the EPSG table on figures of the
// family, each at the middle of its area, rounded; single ones go to three
// times as much.
func likelyShiftM(e Ellipsoid) float64 {
	for _, f := range likelyShifts {
		if math.Abs(e.SemiMajorM-f.semiMajorM) <= f.withinM {
			return f.shiftM
		}
	}
	return 200
}

// likelyShifts by families of figures, which differ by up to withinM.
var likelyShifts = []struct{ semiMajorM, withinM, shiftM float64 }{
	{6377563.396, 1, 90},   // Airy 1830
	{6377340.189, 1, 60},   // Airy modified 1849
	{6377397.155, 10, 170}, // Bessel 1841
	{6377290, 20, 230},     // Everest
	{6378206.4, 1, 210},    // Clarke 1866
	{6378249.2, 0.2, 230},  // Clarke 1880
	{6378388, 1, 220},      // International 1924
	{6378245, 0.5, 100},    // Krassowsky 1940
	{6378160, 2, 90},       // GRS 1967 and Australian National
	{6378137, 2, nullGapM}, // made for the whole earth
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
