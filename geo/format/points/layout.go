package points

import (
	"fmt"
	"strings"

	"hemrow/geo"
	"hemrow/geo/format/encoded"
)

// layout is what was found out about the table.
type layout struct {
	roles   []role   // by column
	titles  []string // nil without a header
	degrees bool     // longitude and latitude
	mark    byte     // decimal
	pairs   bool     // every second comma is a decimal mark
	skip    int      // line of the header, 0 none
	forms   [2]*form // of the columns of northing and easting, nil for plain numbers
	unit    string   // of eastings and northings
	heights string   // unit of heights
	guessed string   // what was assumed without the file saying so
	soft    bool     // the order is that of a point number
}

// at is the column with the role, -1 for none.
func (l layout) at(r role) int {
	for i, have := range l.roles {
		if have == r {
			return i
		}
	}
	return -1
}

// column names a column for a message.
func (l layout) column(i int) string {
	if i < len(l.titles) && l.titles[i] != "" {
		return fmt.Sprintf("column %d %q", i+1, l.titles[i])
	}
	return fmt.Sprintf("column %d", i+1)
}

// decide finds out how the table is built from its first lines.
func (rd *reader) decide(lines [][]byte) error {
	t, err := bestTable(lines, rd.src.ended+1)
	if err != nil {
		return err
	}
	rd.split.sep = t.sep
	body := t.rows
	if header(t.rows[0]) {
		rd.takeTitles(t)
		body = body[1:]
		if len(body) == 0 {
			return &geo.InputError{Line: t.lines[0], Problem: "a header without any point below it"}
		}
	} else if rd.opt.Columns == "" {
		rd.takeComment(t)
	}
	if err := rd.decidePairs(t, body); err != nil {
		return err
	}
	if rd.lay.pairs {
		for i := range body {
			body[i] = joinPairs(body[i])
		}
		t.width = (t.width + 1) / 2
	}
	if err := rd.decideRoles(t, body); err != nil {
		return err
	}
	if rd.lay.at(roleShape) < 0 {
		if err := rd.decideNumbers(t, body); err != nil {
			return err
		}
	}
	rd.noteColumns()
	return nil
}

// takeTitles takes the first row as the header.
func (rd *reader) takeTitles(t table) {
	rd.lay.skip = t.lines[0]
	row := t.rows[0]
	for len(row) > 1 && len(row[len(row)-1]) == 0 {
		row = row[:len(row)-1]
	}
	for _, f := range row {
		s, guessed := encoded.Text(f)
		if guessed {
			rd.guess++
		}
		rd.lay.titles = append(rd.lay.titles, s)
	}
}

// takeComment takes the last comment before the table as its header if it names
// as many columns and both coordinates are among them.
func (rd *reader) takeComment(t table) {
	if t.comment == nil {
		return
	}
	sp := splitter{sep: t.sep}
	fields, fault := sp.fields(trimBlank(t.comment))
	if fault != quoteFine || len(fields) != t.width {
		return
	}
	titles := titlesOf(fields)
	if l, err := titled(titles); err == nil && l.at(roleEast) >= 0 {
		rd.lay.titles = titles
	}
}

// decidePairs finds out whether the comma is both the separator and the decimal
// mark, as in 1929078,144,5582610,153.
func (rd *reader) decidePairs(t table, body [][][]byte) error {
	if t.sep != ',' || t.width < 4 || rd.opt.Decimal == "point" {
		return nil
	}
	for _, r := range body {
		for i, f := range r {
			whole := f
			if i%2 == 0 && len(f) > 0 && (f[0] == '-' || f[0] == '+') {
				whole = f[1:]
			}
			if len(f) > 0 && !isWhole(whole) {
				return nil
			}
		}
	}
	columns := len(rd.lay.titles)
	if rd.opt.Columns != "" {
		l, err := asked(rd.opt.Columns)
		if err != nil {
			return err
		}
		columns = len(l.roles)
	}
	half := (t.width + 1) / 2
	switch {
	case columns == t.width:
		return nil
	case columns == half && t.width%2 == 0, rd.opt.Decimal == "comma" && t.width%2 == 0:
		rd.lay.pairs = true
		return nil
	case columns > 0:
		return nil // the width will be refused
	}
	first := body[0]
	pairs := joinPairs(append([][]byte(nil), first...))
	return &geo.InputError{
		Line: t.lines[len(t.rows)-len(body)],
		Problem: fmt.Sprintf("the commas can be separators of columns (%s) or every second one a decimal mark (%s)",
			quoted(first), quoted(pairs)),
		Hint: "name the columns with the option for columns, for example EN or PNEZ, or set them apart with semicolons",
	}
}

// decideRoles finds out what the columns hold.
func (rd *reader) decideRoles(t table, body [][][]byte) error {
	var l layout
	var err error
	switch {
	case rd.opt.Columns != "":
		if l, err = asked(rd.opt.Columns); err != nil {
			return err
		}
		wide := max(t.width, len(rd.lay.titles))
		if len(l.roles) > wide {
			return &geo.InputError{
				Line:    t.lines[len(t.lines)-1],
				Problem: fmt.Sprintf("the option for columns names %d, the table has %d: %s", len(l.roles), wide, quoted(t.rows[len(t.rows)-1])),
				Hint:    "give a letter or a word for each column, - for one that is not needed",
			}
		}
		for len(l.roles) < wide {
			l.roles = append(l.roles, roleNone)
		}
	case rd.lay.titles != nil:
		if l, err = titled(rd.lay.titles); err != nil && len(rd.lay.titles) != t.width {
			return &geo.InputError{
				Line:    rd.lay.skip,
				Problem: fmt.Sprintf("this is no header of the table below it, which has %s: %s", geo.Counted(t.width, "column"), list(rd.lay.titles)),
				Hint:    "begin lines above the header with #, or take them out",
			}
		}
	default:
		l, err = untitled(t, body)
	}
	if err != nil {
		return placed(err, t.lines[len(t.rows)-len(body)], rd.lay.skip)
	}
	l.titles, l.skip, l.pairs = rd.lay.titles, rd.lay.skip, rd.lay.pairs
	if l.soft && !wholeColumn(body, l.at(roleOrder)) {
		l.roles[l.at(roleOrder)] = roleName
		l.soft = false
	}
	rd.lay = l
	return nil
}

// placed puts the line of the header, or of the first row, on an error.
func placed(err error, first, titles int) error {
	if e, ok := err.(*geo.InputError); ok && e.Line == 0 {
		e.Line = first
		if titles > 0 {
			e.Line = titles
		}
	}
	return err
}

// decideNumbers finds out the decimal mark and the form of angles.
func (rd *reader) decideNumbers(t table, body [][][]byte) error {
	l := &rd.lay
	l.mark = ','
	if !l.pairs {
		mark, err := decimal(t, body, func(col int) bool {
			return col < len(l.roles) && (l.roles[col] == roleEast || l.roles[col] == roleNorth || l.roles[col] == roleHeight)
		}, rd.opt.Decimal)
		if err != nil {
			return err
		}
		l.mark = mark
	}
	for i, r := range [...]role{roleNorth, roleEast} {
		col := l.at(r)
		if col >= len(body[0]) || l.pairs {
			continue // its row will be refused
		}
		if _, a, fault := angle(body[0][col], l.mark); fault == "" {
			l.forms[i] = &a.form
		}
	}
	l.degrees = l.degrees || l.forms[0] != nil && l.forms[1] != nil
	return nil
}

// noteColumns says what was taken for what.
func (rd *reader) noteColumns() {
	l := rd.lay
	var words, unused []string
	for i, r := range l.roles {
		what := r.String()
		if l.degrees {
			what = strings.NewReplacer("easting", "longitude", "northing", "latitude").Replace(what)
		}
		title := fmt.Sprint(i + 1)
		if i < len(l.titles) && l.titles[i] != "" {
			title = fmt.Sprintf("%q", l.titles[i])
		}
		if r == roleNone {
			unused = append(unused, title)
		} else {
			words = append(words, title+" "+what)
		}
	}
	s := "columns: " + strings.Join(words, ", ")
	if len(unused) > 0 && l.at(roleShape) < 0 {
		s += "; not used: " + strings.Join(unused, ", ")
	}
	s += "; set apart by " + separatorWord(rd.split.sep)
	if l.mark == ',' {
		s += ", with decimal commas"
	}
	severity, hint := geo.Info, ""
	if l.guessed != "" {
		severity, hint = geo.Caution, "if that is wrong, name the columns with the option for columns, for example PENZD"
		s += "; " + l.guessed
	}
	if l.pairs {
		severity, hint = geo.Caution, "set the columns apart with semicolons"
		s += "; every second comma is taken for a decimal mark"
	}
	rd.note(geo.NoteColumns, severity, s, hint, len(l.roles), "columns")
}
