package field

import (
	"fmt"
	"math"

	"hemrow/geo"
	"hemrow/geo/format"
)

// sizes notes fields of unusual size and areas the file states otherwise. It
// refuses a field whose stated area fits only with swapped numbers.
func (b *builder) sizes(file *format.File, chosen []part, blocks []geo.Block) error {
	var sum float64
	for _, bl := range blocks {
		sum += b.frame.AreaM2(bl.Outline)
	}
	if sum < leastFieldM2 || sum > mostFieldM2 {
		limit := float64(leastFieldM2)
		if sum > mostFieldM2 {
			limit = mostFieldM2
		}
		b.note(geo.Note{
			Code: geo.NoteUnusualSize, Severity: geo.Caution,
			Text: fmt.Sprintf("the field has %s ha", hectares(sum)), Hint: "check the reference system and the units of the file",
			Value: sum, Limit: limit, Unit: "m2",
		})
	}
	stated, ok := statedM2(chosen)
	if !ok || fits(sum, stated) {
		return nil
	}
	if !file.Turned {
		if err := b.swappedFits(file, chosen, sum, stated); err != nil {
			return err
		}
	}
	b.note(geo.Note{
		Code: geo.NoteAreaDiffers, Severity: geo.Caution, Place: chosen[0].place(0, 0, nil),
		Text: fmt.Sprintf("the file states %s ha, the outline has %s ha", hectares(stated), hectares(sum)),
		Hint: "check whether the outline is complete", Value: sum, Limit: stated, Unit: "m2",
	})
	return nil
}

func fits(areaM2, statedM2 float64) bool {
	return math.Abs(areaM2-statedM2) <= areaOffRatio*statedM2+areaStepM2
}

// statedM2 is the sum of the areas the chosen features state, if all do.
func statedM2(chosen []part) (sumM2 float64, ok bool) {
	for i, p := range chosen {
		if i > 0 && p.feature == chosen[i-1].feature {
			continue
		}
		ha, ok := number(p.feature.Properties["area_ha"])
		if !ok || !(ha > 0) {
			return 0, false
		}
		sumM2 += ha * 1e4
	}
	return sumM2, true
}

// swappedFits tells swapped axes by the area: a degree of longitude shrinks
// with the cosine of the latitude, so the wrong order gives another area.
func (b *builder) swappedFits(file *format.File, chosen []part, sumM2, statedM2 float64) error {
	o := builder{ctx: b.ctx, spec: b.spec}
	o.swap = !b.swap
	if o.setFrame(file, chosen) != nil {
		return nil
	}
	var other float64
	for _, p := range chosen {
		other += o.frame.AreaM2(o.project(p.rings))
	}
	if !fits(other, statedM2) {
		return nil
	}
	here := b.frame.Origin()
	e := chosen[0].input(0, 0, &here)
	e.Problem = fmt.Sprintf("longitude and latitude may be swapped: as read the field lies at %s and has %s ha, swapped at %s and %s ha; the file states %s ha",
		here, hectares(sumM2), o.frame.Origin(), hectares(other), hectares(statedM2))
	e.Hint = "set swap_axes if positions are latitude first, or correct the stated area"
	if b.spec.SwapAxes {
		e.Hint = "positions seem to be longitude first: leave swap_axes off, or correct the stated area"
	}
	return e
}

// hectares prints an area in plain decimals: to the square metre, and from
// 100 ha on to a hundredth of a hectare.
func hectares(areaM2 float64) string {
	if areaM2 >= 100*geo.HectareM2 {
		return fmt.Sprintf("%.2f", areaM2/geo.HectareM2)
	}
	return fmt.Sprintf("%.4f", areaM2/geo.HectareM2)
}
