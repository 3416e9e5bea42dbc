package points

import (
	"fmt"

	"hemrow/geo"
)

// column is what the sample shows of one column without a title.
type column struct {
	numbers  bool // all fields are numbers
	whole    bool // all are digits only
	fraction bool // one has a decimal mark
	steps    bool // whole and each one more than that before
	empty    bool
	axis     byte // N or E when all are angles with such letters
	shape    bool
}

// columnsOf looks at all columns of the body.
func columnsOf(body [][][]byte, width int) []column {
	out := make([]column, width)
	for c := range out {
		col := column{numbers: true, whole: true, steps: true, empty: true, shape: true}
		last := 0.0
		for i, r := range body {
			if c >= len(r) {
				continue
			}
			f := r[c]
			v, _ := number(f, '.')
			col.empty = col.empty && len(f) == 0
			col.numbers = col.numbers && isNumber(f)
			col.whole = col.whole && isWhole(f)
			col.fraction = col.fraction || fits(f, '.') || fits(f, ',')
			col.steps = col.steps && (i == 0 || v == last+1)
			col.shape = col.shape && isShape(f)
			last = v
			if a, ok := isAngle(f); ok && (i == 0 || col.axis == a.axis) {
				col.axis = a.axis
			} else {
				col.axis = 0
			}
		}
		col.steps = col.steps && col.whole && len(body) > 1
		out[c] = col
	}
	return out
}

// untitled is the layout of a table without a header, by the rules in the
// package's description.
func untitled(t table, body [][][]byte) (layout, error) {
	cols := columnsOf(body, t.width)
	l := layout{roles: make([]role, t.width)}
	for i, c := range cols {
		if c.shape {
			l.roles[i] = roleShape
			return l, nil
		}
	}
	if done, err := l.lettered(cols); done || err != nil {
		return l, err
	}
	n := len(cols)
	for n > 2 && cols[n-1].empty {
		n--
	}
	cols = cols[:n]
	run := 0 // numbers at the beginning
	for run < n && cols[run].numbers {
		run++
	}
	point := n > 0 && (cols[0].whole || !cols[0].numbers && !cols[0].empty)
	switch {
	case n >= 5 && point && cols[1].numbers && cols[2].numbers && cols[3].numbers && !(cols[4].numbers && cols[4].fraction):
		copy(l.roles, []role{roleName, roleNorth, roleEast, roleHeight, roleCode})
		l.guessed = "the order point, northing, easting, height, code is the trade's habit, the file does not say it"
		return l, nil
	case run == 2 && n == 2, run == 3 && n == 3 && !numbered(cols):
		copy(l.roles, []role{roleEast, roleNorth, roleHeight}[:n])
	case run == n-1 && (run == 2 || run == 3) && !cols[n-1].empty && !point:
		copy(l.roles, []role{roleEast, roleNorth, roleHeight}[:run])
		l.roles[n-1] = roleCode
	case run > 3 && cols[0].fraction:
		copy(l.roles, []role{roleEast, roleNorth, roleHeight})
	default:
		return l, undecided(t, body, cols)
	}
	l.guessed = "easting before northing is assumed, the file does not say it"
	return l, nil
}

// numbered reports whether three columns of numbers begin with what looks like
// point numbers: whole and one more each time, beside others with decimals.
func numbered(cols []column) bool {
	return cols[0].steps && cols[1].fraction && cols[2].fraction
}

// lettered finds the columns of angles that end in N or S, and E or W.
func (l *layout) lettered(cols []column) (done bool, err error) {
	north, east, n := -1, -1, 0
	for i, c := range cols {
		switch c.axis {
		case 'N':
			north = i
			n++
		case 'E':
			east = i
			n++
		}
	}
	if n != 2 || north < 0 || east < 0 {
		return false, nil
	}
	l.roles[north], l.roles[east] = roleNorth, roleEast
	l.degrees = true
	for i, c := range cols {
		switch {
		case l.roles[i] != roleNone || c.empty:
		case i < min(north, east) && l.at(roleName) < 0:
			l.roles[i] = roleName
		case i > max(north, east) && c.numbers && l.at(roleHeight) < 0:
			l.roles[i] = roleHeight
		case i > max(north, east) && !c.numbers && l.at(roleCode) < 0:
			l.roles[i] = roleCode
		}
	}
	return true, nil
}

// undecided shows the first row in both orders of northing and easting.
func undecided(t table, body [][][]byte, cols []column) error {
	first := body[0]
	e := &geo.InputError{
		Line:    t.lines[len(t.rows)-len(body)],
		Problem: fmt.Sprintf("the file does not say what its columns hold: %s", quoted(first)),
		Hint:    "name the columns with the option for columns: " + optionHint,
	}
	ways := [2]string{"PNEZ", "PENZ"}
	switch {
	case len(cols) == 3 && cols[0].numbers && cols[1].numbers && cols[2].numbers:
		ways = [2]string{"PEN", "ENZ"}
	case len(cols) == 3 && cols[1].numbers && cols[2].numbers:
		ways = [2]string{"PNE", "PEN"}
	case len(cols) < 4 || !cols[1].numbers || !cols[2].numbers || !cols[3].numbers:
		return e
	}
	e.Problem = fmt.Sprintf("the columns can be %s (%s) or %s (%s)", ways[0], inWords(ways[0], first), ways[1], inWords(ways[1], first))
	e.Hint = fmt.Sprintf("give the option for columns: %s or %s", ways[0], ways[1])
	return e
}

// inWords shows a row with the roles of its columns.
func inWords(way string, fields [][]byte) string {
	roles, _ := letters(way)
	s := ""
	for i, r := range roles {
		if i < len(fields) {
			if i > 0 {
				s += ", "
			}
			s += r.String() + " " + shown(fields[i])
		}
	}
	return s
}
