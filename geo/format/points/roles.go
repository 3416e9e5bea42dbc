package points

import (
	"fmt"
	"slices"
	"strings"

	"hemrow/geo"
)

// asked is the layout that [Options].Columns asks for.
func asked(columns string) (layout, error) {
	var l layout
	words := strings.FieldsFunc(columns, func(r rune) bool { return r == ' ' || r == ',' || r == ';' || r == '\t' })
	if len(words) == 1 && len(words[0]) > 1 {
		if byLetter, ok := letters(words[0]); ok {
			l.roles = byLetter
			return l, complete(l, "the option for columns", words)
		}
	}
	vocabulary := meanings()
	lon, lat := false, false
	for _, w := range words {
		m := understand(w, vocabulary)
		r := m.role
		if len(w) == 1 {
			if one, ok := letters(w); ok {
				r = one[0]
			}
		} else if r == roleNone && strings.Trim(w, "-_") != "" {
			return l, &geo.InputError{Problem: fmt.Sprintf("the option for columns has the word %q, which is not known", w), Hint: optionHint}
		}
		lon = lon || r == roleEast && m.family == degrees
		lat = lat || r == roleNorth && m.family == degrees
		l.roles = append(l.roles, r)
		l.setUnit(r, m.unit)
	}
	if l.degrees = lon && lat; lon != lat {
		return l, &geo.InputError{Problem: fmt.Sprintf("the option for columns %q mixes degrees with eastings or northings", columns), Hint: optionHint}
	}
	return l, complete(l, "the option for columns", words)
}

const optionHint = "give letters (P point, N northing, E easting, Z height, D description, - not used) such as PNEZD, or words such as lon lat h"

// letters is the role of each letter; ok is false if one is none.
func letters(word string) (out []role, ok bool) {
	for _, c := range strings.ToUpper(word) {
		r := roleNone
		switch c {
		case 'P':
			r = roleName
		case 'N', 'Y':
			r = roleNorth
		case 'E', 'X':
			r = roleEast
		case 'Z', 'H':
			r = roleHeight
		case 'D':
			r = roleCode
		case '-', '_':
		default:
			return nil, false
		}
		out = append(out, r)
	}
	return out, true
}

// complete checks that a layout has either a shape or both coordinates, and no
// column that counts twice.
func complete(l layout, source string, titles []string) error {
	count := map[role]int{}
	for _, r := range l.roles {
		count[r]++
	}
	if count[roleShape] == 1 {
		return nil
	}
	for _, r := range [...]role{roleEast, roleNorth, roleHeight, roleName, roleCode, roleOrder, roleShape} {
		if count[r] > 1 {
			return &geo.InputError{Problem: fmt.Sprintf("%s names %d columns for the %s: %s", source, count[r], r, list(titles)), Hint: optionHint}
		}
	}
	for _, r := range [...]role{roleEast, roleNorth} {
		if count[r] == 0 {
			return &geo.InputError{Problem: fmt.Sprintf("%s names no column for the %s: %s", source, r, list(titles)), Hint: optionHint}
		}
	}
	return nil
}

func list(titles []string) string {
	const most = 20
	words := make([]string, 0, most)
	for _, t := range titles[:min(len(titles), most)] {
		words = append(words, fmt.Sprintf("%q", t))
	}
	return strings.Join(words, ", ")
}

func (l *layout) setUnit(r role, unit string) {
	switch {
	case unit == "":
	case r == roleHeight:
		l.heights = unit
	case r == roleEast || r == roleNorth:
		l.unit = unit
	}
}

// titled is the layout that the titles of the columns describe.
func titled(titles []string) (layout, error) {
	l := layout{roles: make([]role, len(titles))}
	words := meanings()
	found := make([]meaning, len(titles))
	for i, t := range titles {
		found[i] = understand(t, words)
	}
	if shape := first(found, roleShape); shape >= 0 {
		for i, m := range found {
			if m.role == roleName && l.at(roleName) < 0 {
				l.roles[i] = roleName
			}
		}
		l.roles[shape] = roleShape
		return l, nil
	}
	east, north, err := pair(found, titles)
	if err != nil {
		return l, err
	}
	l.roles[east], l.roles[north] = roleEast, roleNorth
	l.degrees = found[east].family == degrees && found[north].family == degrees
	if found[east].unit != found[north].unit {
		return l, &geo.InputError{
			Problem: fmt.Sprintf("the units of columns %q and %q differ", titles[east], titles[north]),
			Hint:    "bring both into one unit",
		}
	}
	l.setUnit(roleEast, found[east].unit)
	l.others(found, titles)
	return l, complete(l, "the header", titles)
}

// others gives the remaining columns their roles, the first of each kind only;
// groups may be several.
func (l *layout) others(found []meaning, titles []string) {
	for i, m := range found {
		if l.roles[i] != roleNone {
			continue
		}
		switch m.role {
		case roleGroup:
			l.roles[i] = roleGroup
		case roleHeight, roleCode, roleOrder:
			if l.at(m.role) < 0 {
				l.roles[i] = m.role
				l.setUnit(m.role, m.unit)
			}
		case roleName:
			if !m.soft && l.at(roleName) < 0 {
				l.roles[i] = roleName
			}
		}
	}
	eastings := slices.ContainsFunc(found, func(m meaning) bool { return m.role == roleEast && m.family == grid })
	for i, m := range found { // nr, or an n that is no northing
		number := m.role == roleName && m.soft || !eastings && fold(titles[i]) == "n"
		if l.roles[i] != roleNone || !number {
			continue
		}
		if l.at(roleOrder) < 0 {
			l.roles[i], l.soft = roleOrder, true
		} else if l.at(roleName) < 0 {
			l.roles[i] = roleName
		}
	}
}

func first(found []meaning, r role) int {
	for i, m := range found {
		if m.role == r {
			return i
		}
	}
	return -1
}

// pair finds the columns of easting and northing. Longitude and latitude win
// over easting and northing, those over x and y.
func pair(found []meaning, titles []string) (east, north int, err error) {
	pick := func(f family, r role) (at, n int) {
		at = -1
		for i, m := range found {
			if m.role == r && (f == noFamily || m.family == f) {
				if n == 0 {
					at = i
				}
				n++
			}
		}
		return at, n
	}
	for _, f := range [...]family{degrees, grid, plane, noFamily} {
		e, ne := pick(f, roleEast)
		n, nn := pick(f, roleNorth)
		if ne == 0 || nn == 0 {
			continue
		}
		if ne > 1 || nn > 1 {
			return 0, 0, &geo.InputError{Problem: "several columns can be the easting or the northing: " + list(titles), Hint: optionHint}
		}
		return e, n, nil
	}
	what := "easting (or longitude)"
	if _, n := pick(noFamily, roleEast); n > 0 {
		what = "northing (or latitude)"
	}
	return 0, 0, &geo.InputError{
		Problem: fmt.Sprintf("no column is recognised as the %s: the header has %s", what, list(titles)),
		Hint:    "rename the columns to e, n, z or lon, lat, h; or name them with the option for columns: " + optionHint,
	}
}

// wholeColumn reports whether all fields of a column are whole numbers.
func wholeColumn(body [][][]byte, col int) bool {
	for _, r := range body {
		if col >= len(r) || !isWhole(r[col]) {
			return false
		}
	}
	return true
}
