package result

import (
	"bytes"
	"encoding/json"
)

// lineWidth is how long a value may be before it is set over several lines.
const lineWidth = 160

// Encode writes a document as JSON, always in the same bytes. Values that fit
// stand on one line, and so do lists of coordinates however long, so that two
// documents compare line by line. A document that breaks its own rules is an
// error.
func Encode(d Document) ([]byte, error) {
	if err := d.check(); err != nil {
		return nil, err
	}
	var flat bytes.Buffer
	enc := json.NewEncoder(&flat)
	enc.SetEscapeHTML(false) // keep < and > readable; this is no web page
	if err := enc.Encode(d); err != nil {
		return nil, err
	}
	src := bytes.TrimSpace(flat.Bytes())
	w := layout{src: src, end: ends(src)}
	w.out.Grow(len(src) + len(src)/4)
	w.value(0, len(src), 0)
	w.out.WriteByte('\n')
	return w.out.Bytes(), nil
}

// layout sets compact JSON over lines.
type layout struct {
	src []byte
	end []int32 // where the container that opens at an offset is closed
	out bytes.Buffer
}

// ends finds, for every opening bracket, the offset of its closing one.
func ends(src []byte) []int32 {
	end := make([]int32, len(src))
	var open []int
	quoted := false
	for i := 0; i < len(src); i++ {
		switch c := src[i]; {
		case quoted && c == '\\':
			i++
		case c == '"':
			quoted = !quoted
		case quoted:
		case c == '{' || c == '[':
			open = append(open, i)
		case c == '}' || c == ']':
			end[open[len(open)-1]] = int32(i)
			open = open[:len(open)-1]
		}
	}
	return end
}

// value writes src[lo:hi], one value, indented by depth where it is broken.
func (w *layout) value(lo, hi, depth int) {
	c := w.src[lo]
	if (c != '{' && c != '[') || hi-lo <= lineWidth || w.isCoordinates(lo, hi) {
		w.out.Write(w.src[lo:hi])
		return
	}
	w.out.WriteByte(c)
	for at := lo + 1; at < hi-1; {
		w.newline(depth + 1)
		if c == '{' {
			key := w.skip(at) + 1 // past the colon
			w.out.Write(w.src[at:key])
			w.out.WriteByte(' ')
			at = key
		}
		next := w.skip(at)
		w.value(at, next, depth+1)
		if next < hi-1 {
			w.out.WriteByte(',')
			next++
		}
		at = next
	}
	w.newline(depth)
	w.out.WriteByte(w.src[hi-1])
}

// isCoordinates reports an array that holds numbers, at whatever depth.
func (w *layout) isCoordinates(lo, hi int) bool {
	for _, c := range w.src[lo:hi] {
		switch c {
		case '[':
		case '-', '0', '1', '2', '3', '4', '5', '6', '7', '8', '9':
			return true
		default:
			return false
		}
	}
	return false
}

// skip is the offset behind the value that begins at lo.
func (w *layout) skip(lo int) int {
	switch w.src[lo] {
	case '{', '[':
		return int(w.end[lo]) + 1
	case '"':
		for i := lo + 1; ; i++ {
			switch w.src[i] {
			case '\\':
				i++
			case '"':
				return i + 1
			}
		}
	}
	i := lo
	for i < len(w.src) && !bytes.ContainsRune([]byte(",]}"), rune(w.src[i])) {
		i++
	}
	return i
}

func (w *layout) newline(depth int) {
	w.out.WriteByte('\n')
	for range depth {
		w.out.WriteByte(' ')
	}
}
