package field

import (
	"encoding/json"
	"fmt"
	"math"
	"strconv"

	"hemrow/geo"
)

// Heights on earth lie between these (the Dead Sea shore and Everest, both
// rounded outward); what lies beyond is a mark for "no height", such as
// -9999 or -1e38.
const (
	lowestM  = -500.0
	highestM = 9000.0
)

// heights takes the mean height of the chosen vertices as the height of the
// frame. A height of exactly 0 is what programs write for none.
func (b *builder) heights(chosen []part) {
	if b.spec.Terrain {
		return
	}
	var sum float64
	n, missing, marked := 0, 0, 0
	for _, p := range chosen {
		for _, r := range p.rings {
			for _, c := range r[:openLen(r)] { // a corner counts once, closed or not
				switch z := c.Z * b.heightM; {
				case math.IsNaN(z):
					missing++
				case z == 0 || z < lowestM || z > highestM:
					missing++
					marked++
				default:
					sum += z
					n++
				}
			}
		}
	}
	if marked > 0 || n > 0 && missing > 0 {
		b.note(geo.Note{
			Code: geo.NoteHeightMissing, Severity: geo.Info, Place: chosen[0].file,
			Text:  fmt.Sprintf("%d of %d vertices have no usable height", missing, missing+n),
			Value: float64(missing), Unit: "vertices",
		})
	}
	if n == 0 {
		b.note(geo.Note{
			Code: geo.NoteNoHeight, Severity: geo.Info, Text: "the height of the ground is not known: lengths are those at sea level",
			Hint: "at 500 m they are 79 mm in 1 km short; heights on the outline would tell, and are used for their mean only",
		})
		return
	}
	mean := sum / float64(n)
	b.frame = b.frame.WithHeight(mean)
	b.note(geo.Note{
		Code: geo.NoteGroundFactor, Severity: geo.Info,
		Text:  fmt.Sprintf("mean height of the outline %.0f m: ground lengths are plan lengths times %.6f", mean, b.frame.GroundFactor()),
		Value: mean, Unit: "m",
	})
	b.note(geo.Note{
		Code: geo.NoteHeightDropped, Severity: geo.Info, Place: chosen[0].file,
		Text: "heights on the outline are no terrain and are used for their mean only", Value: float64(n), Unit: "vertices",
	})
}

// number reads a property as a number, if it is one.
func number(v any) (x float64, ok bool) { //unit:the property's
	switch t := v.(type) {
	case float64:
		return t, true
	case int:
		return float64(t), true
	case json.Number:
		f, err := t.Float64()
		return f, err == nil
	case string:
		f, err := strconv.ParseFloat(t, 64)
		return f, err == nil
	}
	return 0, false
}
