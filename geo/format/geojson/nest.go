package geojson

import "fmt"

// maxDepth is how deep brackets may be nested. A MultiPolygon in a feature in
// a collection needs 8; the rest is for properties.
const maxDepth = 128

// Classes of bytes outside text.
const (
	plainByte = iota
	quoteByte
	openByte
	closeByte
	wrongByte
)

// byteClass sorts bytes outside text: letters pass here, so that the strict
// reading later can say what word they make.
var byteClass = func() (t [256]uint8) {
	for c := range t {
		t[c] = wrongByte
	}
	for _, c := range []byte(" \t\r\n,:+-.0123456789") {
		t[c] = plainByte
	}
	for c := 'a'; c <= 'z'; c++ {
		t[c], t[c-'a'+'A'] = plainByte, plainByte
	}
	t['"'] = quoteByte
	t['{'], t['['] = openByte, openByte
	t['}'], t[']'] = closeByte, closeByte
	return t
}()

// nest follows brackets and text, nothing else, to find where a value ends. It
// can be fed piece by piece.
type nest struct {
	depth   int
	want    [maxDepth]byte // the closing bracket of each level
	inText  bool
	escaped bool
}

// scan reads on in b. done tells that the value ended at b[used-1]; a problem
// lies at b[used].
func (n *nest) scan(b []byte) (used int, done bool, problem string) {
	i := 0
	if n.inText {
		i = n.text(b, 0)
	}
	for i < len(b) {
		c := b[i]
		switch byteClass[c] {
		case plainByte:
			for i++; i < len(b) && byteClass[b[i]] == plainByte; i++ {
			}
			continue
		case quoteByte:
			n.inText = true
			i = n.text(b, i+1)
			continue
		case openByte:
			if n.depth == maxDepth {
				return i, false, fmt.Sprintf("brackets are nested more than %d deep", maxDepth)
			}
			n.want[n.depth] = c + 2 // '[' to ']' and '{' to '}' in ASCII
			n.depth++
		case closeByte:
			if n.want[n.depth-1] != c {
				return i, false, fmt.Sprintf("%c stands where %c must close", c, n.want[n.depth-1])
			}
			n.depth--
			if n.depth == 0 {
				return i + 1, true, ""
			}
		default:
			return i, false, unexpected(b, i)
		}
		i++
	}
	return i, false, ""
}

// text reads on to behind the closing quote or to the end of b.
func (n *nest) text(b []byte, i int) int {
	for i < len(b) {
		c := b[i]
		i++
		switch {
		case n.escaped:
			n.escaped = false
		case c == '\\':
			n.escaped = true
		case c == '"':
			n.inText = false
			return i
		}
	}
	return i
}
