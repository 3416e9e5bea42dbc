package shapefile

import (
	"encoding/binary"
	"fmt"
)

// indexBytes is the size of an entry of the .shx (1998, page 24).
const indexBytes = 8

// entry is where a record lies according to the .shx.
type entry struct {
	at      int64 // of the frame
	content int64 // bytes behind the frame
}

func readEntry(b []byte) entry {
	return entry{2 * int64(int32(binary.BigEndian.Uint32(b))), 2 * int64(int32(binary.BigEndian.Uint32(b[4:])))}
}

func (e entry) end() int64 { return e.at + frameBytes + e.content }

// index is a .shx. It may be wrong, so each entry is compared with the .shp.
type index struct {
	src   *source
	count int
	why   string // why it cannot be trusted, "" if it can
	// inStep tells that records follow one another without gaps, so that the
	// .shp can be read from end to end.
	inStep bool
}

// readIndex looks through a whole .shx, in constant memory.
func readIndex(src *source, shp *source, head mainHeader) (x index) {
	x.src = src
	h, err := readHeader(src)
	if err != nil {
		return index{src: src, why: "it has no header of its kind"}
	}
	if h.kind != head.kind {
		x.why = fmt.Sprintf("it is for shapes of another kind (%s)", kindWord(h.kind))
		return x
	}
	entries := src.size - headerBytes
	if entries%indexBytes != 0 {
		x.why = fmt.Sprintf("its %d bytes are not a whole number of entries", src.size)
		return x
	}
	x.inStep = true
	due := int64(headerBytes)
	for src.left() > 0 {
		b, err := src.take(indexBytes)
		if err != nil {
			x.why = "it is cut short"
			return x
		}
		e := readEntry(b)
		x.count++
		if e.at < headerBytes || e.content < 0 || e.end() > shp.size {
			x.why = fmt.Sprintf("its entry %d points outside the .shp", x.count)
			return x
		}
		x.inStep = x.inStep && e.at == due
		due = e.end()
	}
	if x.inStep && due < min(head.bytes, shp.size) {
		x.why = fmt.Sprintf("it ends with record %d at byte %d, and the .shp goes on", x.count, due)
	}
	return x
}

// fits reports whether every entry points at a frame of the same length; shp
// must be open to random access.
func (x *index) fits(shp *source) (string, error) {
	if err := x.src.seek(headerBytes); err != nil {
		return "", err
	}
	var frame [frameBytes]byte
	for i := range x.count {
		b, err := x.src.take(indexBytes)
		if err != nil {
			return "", err
		}
		e := readEntry(b)
		if _, err := shp.at.ReadAt(frame[:], e.at); err != nil {
			return "", shp.broken(err)
		}
		if _, content := readFrame(frame[:]); content != e.content {
			return fmt.Sprintf("its entry %d points at byte %d, where no record of %d bytes begins", i+1, e.at, e.content), nil
		}
	}
	return "", x.src.seek(headerBytes)
}

// readFrame reads what stands before a record: its number and the length of
// its content.
func readFrame(b []byte) (number int32, content int64) {
	return int32(binary.BigEndian.Uint32(b)), 2 * int64(int32(binary.BigEndian.Uint32(b[4:])))
}

// countRecords walks through a .shp behind its header and counts the records,
// -1 if it cannot be walked.
func countRecords(shp *source) (n int) {
	for shp.left() >= frameBytes {
		b, err := shp.take(frameBytes)
		if err != nil {
			return -1
		}
		_, content := readFrame(b)
		if content < 0 || content > shp.left() {
			return -1
		}
		if err := shp.seek(shp.offset() + content); err != nil {
			return -1
		}
		n++
	}
	return n
}
