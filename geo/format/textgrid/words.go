package textgrid

import (
	"errors"
	"fmt"
	"io"
)

const (
	// chunk is how much is read at once.
	chunk = 256 << 10
	// maxWord is the longest word; the longest number a program writes has
	// some 330 characters (common practice, no source).
	maxWord = 1024
)

// blank is what stands between words.
var blank = [256]bool{' ': true, '\t': true, '\r': true, '\n': true, '\v': true, '\f': true}

// words cuts a file into words.
type words struct {
	in   *input
	buf  []byte
	pos  int
	base int64 // of buf[0] in the file
	err  error // other than the end of the file
}

func (in *input) words(from int64) *words { return &words{in: in, base: from} }

// seek goes on from another place, without reading what is in the buffer.
func (w *words) seek(to int64) {
	if at := to - w.base; at >= 0 && at <= int64(len(w.buf)) {
		w.pos = int(at)
		return
	}
	w.buf, w.pos, w.base = w.buf[:0], 0, to
}

// offset is the place of the next byte in the file.
func (w *words) offset() int64 { return w.base + int64(w.pos) }

// more reads on, keeping what is not yet used, and reports whether there was
// anything to read.
func (w *words) more() bool {
	if w.err != nil {
		return false
	}
	if cap(w.buf) == 0 {
		w.buf = make([]byte, 0, int(min(chunk, w.in.size+1)))
	}
	kept := copy(w.buf[:cap(w.buf)], w.buf[w.pos:])
	w.base, w.pos = w.base+int64(w.pos), 0
	w.buf = w.buf[:kept]
	to := w.buf[kept:cap(w.buf)]
	left := w.in.size - w.base - int64(kept)
	if left <= 0 || len(to) == 0 {
		return false
	}
	n, err := w.in.r.ReadAt(to[:min(int64(len(to)), left)], w.base+int64(kept))
	w.buf = w.buf[:kept+n]
	if err != nil && !errors.Is(err, io.EOF) {
		w.err = fmt.Errorf("%s: read at byte %d: %w", w.in.name, w.base, err)
	}
	return n > 0
}

// next is the next word, valid until the one after; nil at the end.
func (w *words) next() ([]byte, error) {
	if !w.start() {
		return nil, w.err
	}
	for i := 1; ; i++ {
		if w.pos+i == len(w.buf) && !w.more() {
			break
		}
		if blank[w.buf[w.pos+i]] {
			word := w.buf[w.pos : w.pos+i]
			w.pos += i
			return word, nil
		}
		if i == maxWord {
			return nil, w.in.fail(0, "", "a word at byte %d is longer than %d characters: this is no text grid", w.offset(), maxWord)
		}
	}
	word := w.buf[w.pos:]
	w.pos = len(w.buf)
	return word, w.err
}

// start goes to the first byte of the next word and reports whether there is
// one.
func (w *words) start() bool {
	for {
		for i, c := range w.buf[w.pos:] {
			if !blank[c] {
				w.pos += i
				return true
			}
		}
		w.pos = len(w.buf)
		if !w.more() {
			return false
		}
	}
}

// skip passes over n words, or to the end, and returns how many there were.
func (w *words) skip(n int) (passed int) {
	inside := false
	for passed < n {
		for i, c := range w.buf[w.pos:] {
			if !blank[c] {
				inside = true
			} else if inside {
				inside = false
				if passed++; passed == n {
					w.pos += i
					return passed
				}
			}
		}
		w.pos = len(w.buf)
		if !w.more() {
			break
		}
	}
	if inside {
		passed++
	}
	return passed
}
