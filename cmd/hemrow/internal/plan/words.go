package plan

import (
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"hemrow/geo"
	"hemrow/materials"
	"hemrow/rows"
)

// choice is one word of several.
type choice struct {
	words []string
	at    func(*Plan) *string
}

func (c choice) read(t target, v value) *problem {
	s, p := scalar(v)
	if p != nil {
		return p
	}
	if p := pick(s, c.words); p != nil {
		return p
	}
	*c.at(t.plan) = s
	return nil
}

func (c choice) write(t target) string { return *c.at(t.plan) }

// pick refuses a word that is not in the list.
func pick(s string, words []string) *problem {
	if slices.Contains(words, s) {
		return nil
	}
	hint := "write " + oneOf(words)
	for _, w := range words {
		if w != "" && (strings.EqualFold(w, s) || w == nearest(s, words)) {
			hint = fmt.Sprintf("did you mean %s? ", w) + hint
			break
		}
	}
	return &problem{fmt.Sprintf("is %s", show(s)), hint}
}

type unitsCodec struct{}

func (unitsCodec) read(t target, v value) *problem {
	s, p := scalar(v)
	if p != nil {
		return p
	}
	if p := pick(s, []string{Metric.String(), US.String()}); p != nil {
		return p
	}
	t.plan.Units, _ = ParseUnits(s)
	return nil
}

func (unitsCodec) write(t target) string { return t.plan.Units.String() }

// versionCodec holds a constant: other versions are refused.
type versionCodec struct{}

func (versionCodec) read(_ target, v value) *problem {
	s, p := scalar(v)
	if p != nil {
		return p
	}
	if s == strconv.Itoa(Version) {
		return nil
	}
	if _, bad := parseCount(s); bad != nil {
		return &problem{fmt.Sprintf("is %s", show(s)), "write hemrow_plan: 1"}
	}
	return &problem{
		fmt.Sprintf("the plan is of version %s, and this program reads version %d", s, Version),
		"use a program of the plan's version, or begin from a new starter file",
	}
}

func (versionCodec) write(target) string { return strconv.Itoa(Version) }

// coverCodec is the kind of cover. Choosing one brings its defaults.
type coverCodec struct{}

func coverWords() []string {
	var w []string
	for _, k := range []materials.CoverKind{materials.OneSheet, materials.TwoSheet, materials.Chips, materials.NoCover} {
		w = append(w, k.String())
	}
	return w
}

func (coverCodec) read(t target, v value) *problem {
	s, p := scalar(v)
	if p != nil {
		return p
	}
	if p := pick(s, coverWords()); p != nil {
		return p
	}
	for _, k := range []materials.CoverKind{materials.NoCover, materials.OneSheet, materials.TwoSheet, materials.Chips} {
		if k.String() == s {
			t.plan.changeCover(k)
		}
	}
	return nil
}

func (coverCodec) write(t target) string { return t.plan.Materials.Cover.String() }

// styleCodec is whether rows follow the land.
type styleCodec struct{}

func styleWords() []string {
	return []string{rows.StyleStraight.String(), rows.StyleContour.String(), rows.StyleBest.String()}
}

func (styleCodec) read(t target, v value) *problem {
	s, p := scalar(v)
	if p != nil {
		return p
	}
	if p := pick(s, styleWords()); p != nil {
		return p
	}
	t.plan.Rows.Style, _ = rows.ParseStyle(s)
	return nil
}

func (styleCodec) write(t target) string { return t.plan.Rows.Style.String() }

type headingCodec struct{}

var alongEdge = regexp.MustCompile(`^along edge ([0-9]+)$`)

func (headingCodec) read(t target, v value) *problem {
	s, p := scalar(v)
	if p != nil {
		return p
	}
	h := rows.Heading{StepDeg: t.plan.Rows.Heading.StepDeg}
	s = strings.Join(strings.Fields(s), " ")
	m := alongEdge.FindStringSubmatch(s)
	switch {
	case s == "search":
		h.Mode = rows.HeadingSearch
	case s == "along longest edge":
		h.Mode = rows.HeadingLongestEdge
	case m != nil:
		h.Mode = rows.HeadingEdge
		if h.Edge, p = parseCount(m[1]); p != nil {
			return p
		}
	default:
		deg, p := parseQuantity(s, KindAngle)
		if p != nil {
			return headingProblem(s, p)
		}
		if !(deg >= 0 && deg <= 360) {
			return &problem{fmt.Sprintf("%s is not from 0 to 360 deg", show(s)), "bearings count clockwise from north"}
		}
		h.Mode, h.Bearing = rows.HeadingFixed, geo.NewBearing(deg)
	}
	t.plan.Rows.Heading = h
	return nil
}

func headingProblem(s string, p *problem) *problem {
	if numberFirst.MatchString(s) {
		return p
	}
	hint := "write search, along longest edge, along edge 3, or a bearing such as 37 deg"
	if near := nearest(s, []string{"search", "along longest edge"}); near != "" {
		hint = fmt.Sprintf("did you mean %s? ", near) + hint
	}
	return &problem{fmt.Sprintf("is %s", show(s)), hint}
}

func (headingCodec) write(t target) string {
	h := t.plan.Rows.Heading
	switch h.Mode {
	case rows.HeadingFixed:
		return quantityText(h.Bearing.Deg(), KindAngle)
	case rows.HeadingLongestEdge:
		return "along longest edge"
	case rows.HeadingEdge:
		return "along edge " + strconv.Itoa(h.Edge)
	default:
		return "search"
	}
}

type firstRowCodec struct{}

func (firstRowCodec) read(t target, v value) *problem {
	return wordOrLength(v, "best", func(m float64, word bool) {
		t.plan.Rows.FirstRow.Best, t.plan.Rows.FirstRow.OffsetM = word, m
	})
}

func (firstRowCodec) write(t target) string {
	if t.plan.Rows.FirstRow.Best {
		return "best"
	}
	return quantityText(t.plan.Rows.FirstRow.OffsetM, KindLength)
}

// limitCodec is a greatest length; the spec has 0 where the word stands.
type limitCodec struct {
	word string
	at   func(*Plan) *float64
}

func (c limitCodec) read(t target, v value) *problem {
	return wordOrLength(v, c.word, func(m float64, _ bool) { *c.at(t.plan) = m })
}

func (c limitCodec) write(t target) string {
	if *c.at(t.plan) == 0 {
		return c.word
	}
	return quantityText(*c.at(t.plan), KindLength)
}

// wordOrLength reads one word, which sets 0, or a length.
func wordOrLength(v value, word string, set func(m float64, word bool)) *problem {
	s, p := scalar(v)
	if p != nil {
		return p
	}
	if s == word {
		set(0, true)
		return nil
	}
	m, p := parseQuantity(s, KindLength)
	if p != nil {
		if !numberFirst.MatchString(s) {
			p = &problem{fmt.Sprintf("is %s", show(s)), "write " + word + ", or a length such as 5 m or 16 ft"}
		}
		return p
	}
	set(m, false)
	return nil
}

// rowsCodec chooses the rows of a plant: all, or 2 of 3.
type rowsCodec struct{}

var ofEvery = regexp.MustCompile(`^([0-9]+) of ([0-9]+)$`)

func (rowsCodec) read(t target, v value) *problem {
	s, p := scalar(v)
	if p != nil {
		return p
	}
	s = strings.Join(strings.Fields(s), " ")
	from, every := 1, 1
	if s != "all" {
		m := ofEvery.FindStringSubmatch(s)
		if m == nil {
			return &problem{fmt.Sprintf("is %s", show(s)), "write all, or 2 of 3 for the second of every three rows"}
		}
		if from, p = parseCount(m[1]); p != nil {
			return p
		}
		if every, p = parseCount(m[2]); p != nil {
			return p
		}
		if from < 1 || from > every {
			return &problem{fmt.Sprintf("%s chooses no row", show(s)), fmt.Sprintf("write 1 of %d up to %d of %d", max(every, 1), max(every, 1), max(every, 1))}
		}
	}
	t.planting().From, t.planting().Every = from, every
	return nil
}

func (rowsCodec) write(t target) string {
	p := t.planting()
	if p.Every == 1 && p.From == 1 {
		return "all"
	}
	return fmt.Sprintf("%d of %d", p.From, p.Every)
}

func (t target) planting() *rows.Planting { return &t.plan.Rows.Plants[t.plant] }
