package plan

import (
	"fmt"
	"math"
	"math/big"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"
)

// problem is what is wrong with a value, and what to write instead.
type problem struct{ what, hint string }

// number is a plain decimal number: a point, no exponent, nothing between
// thousands.
const number = `-?(?:[0-9]+(?:\.[0-9]+)?|\.[0-9]+)`

// longestNumber bounds the digits of a number. The longest that a float64
// ever needs without an exponent is 342 characters, -5e-324 to 17 digits.
const longestNumber = 400

var (
	numberFirst = regexp.MustCompile(`^(` + number + `)(.*)$`)
	feetInches  = regexp.MustCompile(`^(-?)([0-9]+) ?(?:ft|') ?([0-9]+(?:\.[0-9]+)?|\.[0-9]+) ?(?:in|")$`)
	exponent    = regexp.MustCompile(`^[+-]?[0-9.]+[eE][+-]?[0-9]`)
	fraction    = regexp.MustCompile(`[0-9] ?[/⁄] ?[0-9]|[½¼¾]`)
	thousands   = regexp.MustCompile(`^\s*-?[0-9]{1,3},[0-9]{3}([^0-9]|$)`)
	notFinite   = regexp.MustCompile(`(?i)^[+-]?\.?(nan|inf|infinity)\b`)
)

// parseQuantity reads a number with its unit, such as 5 m, 16ft, 5 ft 6 in,
// 15 mil or 37°, as a value in the kind's own unit. The value is the float64
// nearest to the exact product: 3 mil is 76.2 um and 16 ft is 4.8768 m to the
// last bit.
func parseQuantity(text string, kind Kind) (float64, *problem) {
	dim := dimensionOf(kind)
	s := tidyUnits(text)
	if p := oddNumber(text, s, dim); p != nil {
		return 0, p
	}
	if m := feetInches.FindStringSubmatch(s); m != nil && dim.word == "length" {
		return parseFeet(m, text, dim)
	}
	m := numberFirst.FindStringSubmatch(s)
	if m == nil {
		return 0, &problem{
			fmt.Sprintf("%s does not begin with a number", show(text)),
			"write a number and a unit, such as " + dim.example(5),
		}
	}
	if len(m[1]) > longestNumber {
		return 0, &problem{"has too many digits", "write at most 15 of them"}
	}
	value, _ := new(big.Rat).SetString(m[1])
	word := strings.TrimSpace(m[2])
	if word == "" {
		f, _ := value.Float64()
		if math.Abs(f) > 1e6 { // not worth repeating
			f = 5
		}
		return 0, &problem{show(text) + " has no unit", "write " + dim.example(f)}
	}
	u, ok := dim.find(word)
	if !ok {
		return 0, unknownUnit(text, word, dim)
	}
	return finite(text, value.Mul(value, dim.ratio(u)))
}

// parseFeet reads feet and inches: sign, whole feet, inches below 12.
func parseFeet(m []string, text string, dim dimension) (float64, *problem) {
	if len(text) > longestNumber {
		return 0, &problem{"has too many digits", "write at most 15 of them"}
	}
	ft, _ := new(big.Rat).SetString(m[2])
	in, _ := new(big.Rat).SetString(m[3])
	if in.Cmp(big.NewRat(12, 1)) >= 0 {
		return 0, &problem{show(text) + " has 12 inches or more behind its feet", "write them as feet, or all in inches"}
	}
	foot, _ := dim.find("ft")
	inch, _ := dim.find("in")
	sum := new(big.Rat).Add(ft.Mul(ft, dim.ratio(foot)), in.Mul(in, dim.ratio(inch)))
	if m[1] == "-" {
		sum.Neg(sum)
	}
	return finite(text, sum)
}

// parseNumber reads a plain number without a unit.
func parseNumber(text string) (float64, *problem) {
	s := strings.TrimSpace(text)
	m := numberFirst.FindStringSubmatch(s)
	switch {
	case strings.Contains(s, ","):
		return 0, commaProblem(text)
	case notFinite.MatchString(s):
		return 0, &problem{show(text) + " is no number to reckon with", "write a plain number, such as 1.5"}
	case m == nil || m[2] != "":
		return 0, &problem{show(text) + " is not a plain number", "write a number without a unit, such as 1.5"}
	case len(m[1]) > longestNumber:
		return 0, &problem{"has too many digits", "write at most 15 of them"}
	}
	r, _ := new(big.Rat).SetString(m[1])
	return finite(text, r)
}

// finite rounds to the nearest float64 and refuses what does not fit one.
func finite(text string, r *big.Rat) (float64, *problem) {
	f, _ := r.Float64()
	if math.IsInf(f, 0) {
		return 0, &problem{show(text) + " is too large", ""}
	}
	return f + 0, nil // -0 becomes 0
}

// oddNumber explains the usual ways to write a number that is not read here.
func oddNumber(text, s string, dim dimension) *problem {
	switch {
	case s == "":
		return &problem{"has no value", "write a number and a unit, such as " + dim.example(5)}
	case strings.Contains(s, ","):
		return commaProblem(text)
	case notFinite.MatchString(s):
		return &problem{show(text) + " is no number to reckon with", "write a number and a unit, such as " + dim.example(5)}
	case exponent.MatchString(s):
		return &problem{show(text) + " has an exponent", "write the number out in decimals"}
	case fraction.MatchString(s):
		return &problem{show(text) + " has a fraction", "write it in decimals, 0.5 for a half"}
	}
	return nil
}

func commaProblem(text string) *problem {
	hint := "write a decimal point, and nothing between thousands"
	// 1,234 may be either; all else is a decimal comma
	if strings.Count(text, ",") == 1 && !strings.Contains(text, ".") && !thousands.MatchString(text) {
		hint += ": " + strings.TrimSpace(strings.Replace(text, ",", ".", 1))
	}
	return &problem{show(text) + " has a comma", hint}
}

// unknownUnit says what a unit is when it measures something else, or which
// one may have been meant.
func unknownUnit(text, word string, dim dimension) *problem {
	for _, d := range dimensions() {
		if _, ok := d.find(word); ok && d.word != dim.word {
			return &problem{
				fmt.Sprintf("%s is %s %s, not %s %s", show(text), article(d.word), d.word, article(dim.word), dim.word),
				"units here: " + dim.names(),
			}
		}
	}
	hint := "units here: " + dim.names()
	if near := nearest(strings.ToLower(word), dim.all()); near != "" {
		hint = fmt.Sprintf("did you mean %s? ", near) + hint
	}
	return &problem{fmt.Sprintf("unit %s is not known", show(word)), hint}
}

// tidyUnits brings the ways a unit is typed to one.
func tidyUnits(s string) string {
	return strings.Join(strings.Fields(strings.NewReplacer(
		"³", "3", "^3", "3", "µ", "u", "μ", "u", "′", "'", "’", "'", "″", `"`, "”", `"`, "−", "-",
	).Replace(s)), " ")
}

// show quotes text of the file for a message, shortened.
func show(s string) string {
	const most = 60
	if utf8.RuneCountInString(s) > most {
		s = string([]rune(s)[:most]) + "…"
	}
	return strconv.Quote(s)
}

func article(word string) string {
	if strings.ContainsRune("aeiou", rune(word[0])) {
		return "an"
	}
	return "a"
}

// plain writes a number without an exponent, so that it reads back the same.
func plain(v float64) string { return strconv.FormatFloat(v+0, 'f', -1, 64) }

// rat is the exact value of the shortest decimal that stands for f. The units
// of package geo are defined by short decimals, so this is their definition.
func rat(f float64) *big.Rat {
	r, _ := new(big.Rat).SetString(strconv.FormatFloat(f, 'f', -1, 64))
	return r
}

// nearest is the candidate most like word, "" if none is much like it.
func nearest(word string, candidates []string) string {
	best, least := "", 1+len(word)/3
	for _, c := range candidates {
		if d := editDistance(word, c); d < least || (d == least && best == "" && d <= 2 && len(word) > 2) {
			best, least = c, d
		}
	}
	return best
}

// editDistance counts the letters put in, left out, changed or swapped with
// their neighbour between two words.
func editDistance(a, b string) int {
	x, y := []rune(a), []rune(b)
	if len(x) > 40 || len(y) > 40 {
		return max(len(x), len(y))
	}
	var before []int
	last := make([]int, len(y)+1)
	for j := range last {
		last[j] = j
	}
	for i := range x {
		row := []int{i + 1}
		for j := range y {
			cost := 1
			if x[i] == y[j] {
				cost = 0
			}
			d := min(last[j]+cost, last[j+1]+1, row[j]+1)
			if i > 0 && j > 0 && x[i] == y[j-1] && x[i-1] == y[j] {
				d = min(d, before[j-1]+1)
			}
			row = append(row, d)
		}
		before, last = last, row
	}
	return last[len(y)]
}

// oneOf lists words as a choice.
func oneOf(words []string) string {
	if len(words) < 2 {
		return strings.Join(words, "")
	}
	w := slices.Clone(words)
	for i := range w {
		if w[i] == "" {
			w[i] = `""`
		}
	}
	return strings.Join(w[:len(w)-1], ", ") + " or " + w[len(w)-1]
}
