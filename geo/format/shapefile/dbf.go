package shapefile

import (
	"encoding/binary"
	"fmt"
	"strings"

	"hemrow/geo"
)

// The dBASE table file (dBASE III; level 7 with its longer field descriptors;
// from memory, checked against GDAL in tests).
const (
	tableHead     = 32
	fieldBytes    = 32
	fieldNameAt   = 11 // bytes of a name, with its NUL
	levelSeven    = 4  // in the low three bits of the version
	sevenHead     = 68
	sevenBytes    = 48
	sevenName     = 32
	fieldsEnd     = 0x0D
	deletedMark   = 0x2A
	maxTableField = 2048 // FoxPro has 255, dBASE level 7 1024
)

// column is one field of the table.
type column struct {
	name     string
	kind     byte
	at, size int // in the row
}

// table is a .dbf, read row by row.
type table struct {
	src     *source
	columns []column
	unread  []string // names of columns that are not read
	pages   pages
	count   int  // rows, as the header states
	begin   int  // byte of the first row
	row     int  // bytes of a row
	skip    bool // rows marked as deleted have no shape
	taken   int
}

// readTable reads the head of a .dbf.
func readTable(src *source, declared codePage) (*table, error) {
	b, err := src.peek(tableHead)
	if e := sniff(b); e != nil {
		e.File = src.label
		return nil, e
	}
	if err != nil {
		return nil, err
	}
	t := &table{
		src: src, count: int(binary.LittleEndian.Uint32(b[4:])),
		begin: int(binary.LittleEndian.Uint16(b[8:])), row: int(binary.LittleEndian.Uint16(b[10:])),
	}
	t.pages = pages{declared: declared, byTable: pageOfLanguage(b[29])}
	seven := b[0]&7 == levelSeven
	if err := t.checkSizes(); err != nil {
		return nil, err
	}
	head, err := src.take(t.begin)
	if err != nil {
		return nil, err
	}
	if err := t.readColumns(head, seven); err != nil {
		return nil, err
	}
	return t, nil
}

func (t *table) fail(problem string, args ...any) error {
	return &geo.InputError{
		File: t.src.label, Problem: fmt.Sprintf(problem, args...),
		Hint: "export the layer again, or take the .dbf away to read the shapes without names",
	}
}

func (t *table) checkSizes() error {
	if t.begin < tableHead || t.row < 1 {
		return t.fail("this is no dBASE table: its header claims %d bytes for itself and %d for a row", t.begin, t.row)
	}
	if need := int64(t.begin) + int64(t.count)*int64(t.row); need > t.src.size {
		return t.fail("the file ends at byte %d, but its %d rows of %d bytes need %d", t.src.size, t.count, t.row, need)
	}
	return nil
}

// readColumns reads the field descriptors.
func (t *table) readColumns(head []byte, seven bool) error {
	start, step, name := tableHead, fieldBytes, fieldNameAt
	if seven {
		start, step, name = sevenHead, sevenBytes, sevenName
	}
	at := 1
	used := map[string]bool{}
	for i := start; i < len(head) && head[i] != fieldsEnd; i += step {
		if i+step > len(head) || len(t.columns) == maxTableField {
			return t.fail("the list of fields has no end")
		}
		d := head[i : i+step]
		c := column{name: t.columnName(d[:name], used), at: at}
		if seven {
			c.kind, c.size = d[32], int(d[33])
			if c.kind == 'I' {
				c.kind = '+' // kept in the same way
			}
		} else {
			c.kind, c.size = d[11], int(d[16])
			if c.kind == 'C' { // Clipper has longer texts
				c.size = t.longText(head, c.size, int(d[17]))
			}
		}
		at += c.size
		if !c.readable() {
			if c.kind != '0' { // FoxPro's own flags
				t.unread = append(t.unread, fmt.Sprintf("%s (type %q)", c.name, c.kind))
			}
			continue
		}
		t.columns = append(t.columns, c)
	}
	if at > t.row {
		return t.fail("its fields need %d bytes, a row has %d", at, t.row)
	}
	return nil
}

// longText is the width of a text field. Clipper puts its high byte where
// others write the decimals; believed only when the row has room for it.
func (t *table) longText(head []byte, low, high int) int {
	sum := 1
	for k := tableHead; k+fieldBytes <= len(head) && head[k] != fieldsEnd; k += fieldBytes {
		sum += int(head[k+16])
		if head[k+11] == 'C' {
			sum += int(head[k+17]) << 8
		}
	}
	if sum == t.row {
		return low + high<<8
	}
	return low
}

// columnName is the name of a field, made different from those before it.
func (t *table) columnName(b []byte, used map[string]bool) string {
	s, _, _ := strings.Cut(string(b), "\x00")
	s, _ = t.pages.read(strings.TrimSpace(s))
	if s == "" {
		s = fmt.Sprintf("field_%d", len(used)+1)
	}
	name := s
	for k := 2; used[name]; k++ {
		name = fmt.Sprintf("%s_%d", s, k)
	}
	used[name] = true
	return name
}

// readable reports whether values of the column are read. Memos lie in a file
// of their own; of binary fields only FoxPro's double is a number.
func (c column) readable() bool {
	switch c.kind {
	case 'C', 'N', 'F', 'D', 'L', 'V':
		return c.size > 0
	case 'I', '+':
		return c.size == 4
	case 'O', '@', 'T', 'Y', 'B':
		return c.size == 8
	}
	return false
}

// notes say what of the table is not read.
func (t *table) notes() geo.Notes {
	if len(t.unread) == 0 {
		return nil
	}
	return geo.Notes{{
		Code: geo.NoteColumnLeft, Place: t.src.label, Value: float64(len(t.unread)), Unit: "fields",
		Text: fmt.Sprintf("%s not read: %s", plural(len(t.unread), "memo or binary field is", "memo or binary fields are"), strings.Join(t.unread, ", ")),
	}}
}

// next takes the next row that belongs to a shape.
func (t *table) next() ([]byte, error) {
	for {
		b, err := t.src.take(t.row)
		if err != nil {
			return nil, err
		}
		t.taken++
		if !t.skip || b[0] != deletedMark {
			return b, nil
		}
	}
}

// remains reports whether rows with shapes are left.
func (t *table) remains() bool {
	if !t.skip {
		return t.taken < t.count
	}
	for t.taken < t.count {
		b, err := t.src.take(t.row)
		if err != nil {
			return false
		}
		t.taken++
		if b[0] != deletedMark {
			return true
		}
	}
	return false
}

// countDeleted counts the rows marked as deleted, in another opening of the
// same file.
func (t *table) countDeleted(src *source) (n int, err error) {
	if err := src.seek(int64(t.begin)); err != nil {
		return 0, err
	}
	for range t.count {
		b, err := src.take(t.row)
		if err != nil {
			return 0, err
		}
		if b[0] == deletedMark {
			n++
		}
	}
	return n, nil
}
