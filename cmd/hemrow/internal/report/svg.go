package report

import (
	"fmt"
	"strconv"
	"strings"
	"unicode"

	"hemrow/cmd/hemrow/internal/result"
)

// The colours of the map. They differ in lightness, not in hue alone, so that
// a grey copy reads like the original, and every kind of line has a dash of
// its own besides.
const (
	inkColour      = "#111111" // outline and lettering
	rowColour      = "#245a3f"
	obstacleColour = "#7d6a55" // edge and hatch
	alleyColour    = "#8d93a8"
	levelColour    = "#b88d60" // level lines; light beside rows in grey too
	rockColour     = "#d3c8b8" // under the hatch
	headColour     = "#ece7d5" // headland and clearances
	paperColour    = "#ffffff"
)

// The dashes of the map's lines, in millimetres.
const (
	outlineDash  = "6 1.2 1 1.2"
	rowDash      = "" // unbroken
	obstacleDash = "1.4 0.8"
	alleyDash    = "0.1 1.3" // dots, with round ends
)

// canvas writes SVG in millimetres.
type canvas struct{ strings.Builder }

func (c *canvas) put(format string, args ...any) {
	fmt.Fprintf(c, format+"\n", args...)
}

// mmText is a coordinate on the page to a hundredth of a millimetre.
func mmText(v float64) string { return decimals(v, 2) }

// path is the d of a path through places on the page; vertices that stand on
// the one before are left out.
func path(pts []point, closed bool) string {
	var b strings.Builder
	last := ""
	for i, p := range pts {
		at := mmText(p.x) + " " + mmText(p.y)
		if at == last || (closed && i == len(pts)-1 && i > 2) {
			continue
		}
		if b.Len() == 0 {
			b.WriteString("M" + at)
		} else {
			b.WriteString("L" + at)
		}
		last = at
	}
	if closed {
		b.WriteString("Z")
	}
	return b.String()
}

// area is the d of all rings of a shape.
func (s sheet) area(shape result.Shape) string {
	var b strings.Builder
	for _, r := range shape.Local {
		b.WriteString(path(s.points(r), true))
	}
	return b.String()
}

func (s sheet) points(l []result.XY) []point {
	out := make([]point, len(l))
	for i, p := range l {
		out[i] = s.at(p)
	}
	return out
}

func stroke(colour string, widthMM float64, dash string) string {
	s := fmt.Sprintf(`fill="none" stroke="%s" stroke-width="%s"`, colour, mmText(widthMM))
	if dash != "" {
		s += fmt.Sprintf(` stroke-dasharray="%s"`, dash)
	}
	return s
}

// lettering is text on the page.
type lettering struct {
	text   string
	at     point // left end, middle or right end of the baseline, by anchor
	sizeMM float64
	anchor string // start, middle or end
	bold   bool
	turn   float64 // degrees clockwise
	halo   bool    // white around it, where it stands on lines
}

func (c *canvas) letter(l lettering) {
	attr := fmt.Sprintf(`font-size="%s" text-anchor="%s"`, mmText(l.sizeMM), l.anchor)
	if l.bold {
		attr += ` font-weight="bold"`
	}
	if l.turn != 0 {
		attr += fmt.Sprintf(` transform="translate(%s %s) rotate(%s)"`, mmText(l.at.x), mmText(l.at.y), mmText(l.turn))
	} else {
		attr += fmt.Sprintf(` x="%s" y="%s"`, mmText(l.at.x), mmText(l.at.y))
	}
	text := escaped(l.text)
	if l.halo {
		c.put(`<text %s stroke="%s" stroke-width="0.9" stroke-linejoin="round">%s</text>`, attr, paperColour, text)
	}
	c.put(`<text %s>%s</text>`, attr, text)
}

// escaped is text for XML, cleaned of what XML does not allow.
func escaped(s string) string {
	return strings.NewReplacer("&", "&amp;", "<", "&lt;", ">", "&gt;", `"`, "&quot;", "'", "&#39;").Replace(clean(s))
}

// widthMM is how much room text takes at most in a common sans-serif face,
// in widths of DejaVu Sans, one of the widest.
func widthMM(s string, sizeMM float64) float64 {
	var em float64
	for _, r := range s {
		switch {
		case r >= 0x1100 && !unicode.Is(unicode.Arabic, r):
			em += 1.02
		case unicode.IsUpper(r) || strings.ContainsRune("mwMW%@", r):
			em += 0.78
		case unicode.IsDigit(r) || unicode.IsLetter(r):
			em += 0.64
		case r == ' ' || unicode.IsPunct(r):
			em += 0.40
		default:
			em += 0.84
		}
	}
	return em * sizeMM
}

// fitted shortens text to a width on the page.
func fitted(s string, sizeMM, roomMM float64) string {
	s = clean(s)
	for n := len([]rune(s)); n > 3 && widthMM(s, sizeMM) > roomMM; {
		n--
		s = cut(s, n)
	}
	return s
}

// decimals is a number with at most so many decimals and no idle zeros.
func decimals(v float64, most int) string {
	s := strconv.FormatFloat(v, 'f', most, 64)
	if strings.Contains(s, ".") {
		s = strings.TrimRight(strings.TrimRight(s, "0"), ".")
	}
	if s == "-0" {
		return "0"
	}
	return s
}
