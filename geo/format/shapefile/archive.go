package shapefile

import (
	"archive/zip"
	"bytes"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"path"
	"regexp"
	"strings"
	"unicode/utf8"

	"golang.org/x/text/encoding/charmap"

	"hemrow/geo"
)

// What an archive may hold. Layers of a whole country have some hundred
// members and pack to a fifth or a tenth; only something made to fill the disk
// goes beyond these (common practice, no source).
const (
	maxMembers     = 4096
	maxMemberBytes = 2 << 30 // offsets of a shapefile reach no farther in most programs
	maxRatio       = 200     // deflate reaches 1032
	ratioFrom      = 1 << 20 // a small member may be all blanks
	// maxWholeBytes is how much is read into memory where a file cannot be
	// read at random.
	maxWholeBytes = 256 << 20
)

var driveLetter = regexp.MustCompile(`^[A-Za-z]:`)

// randomAccess is a file of which any part can be read.
func randomAccess(f fs.File, size int64, label string) (io.ReaderAt, int64, error) {
	if at, ok := f.(io.ReaderAt); ok {
		return at, size, nil
	}
	b, err := io.ReadAll(io.LimitReader(f, maxWholeBytes+1))
	if err != nil {
		return nil, 0, fmt.Errorf("%s: %w", label, err)
	}
	if len(b) > maxWholeBytes {
		return nil, 0, &geo.InputError{File: label, Problem: fmt.Sprintf("the file is larger than %d MiB and cannot be read in pieces", maxWholeBytes>>20)}
	}
	return bytes.NewReader(b), int64(len(b)), nil
}

// archiveBundle looks into a zip archive and refuses what is not to be trusted.
func archiveBundle(f fs.File, size int64, shown string) (*bundle, error) {
	if size == 0 {
		e := sniff(nil)
		e.File = shown
		return nil, e
	}
	at, size, err := randomAccess(f, size, shown)
	if err != nil {
		return nil, err
	}
	z, err := zip.NewReader(at, size)
	if err != nil && !errors.Is(err, zip.ErrInsecurePath) {
		return nil, noArchive(at, size, shown, err)
	}
	if len(z.File) > maxMembers {
		return nil, &geo.InputError{
			File:    shown,
			Problem: fmt.Sprintf("the archive holds %d members; at most %d are read", len(z.File), maxMembers),
			Hint:    "unpack it and name the .shp",
		}
	}
	b := &bundle{shown: shown, what: "archive", files: f}
	members := map[string]*zip.File{}
	for _, m := range z.File {
		name, err := memberName(m, shown)
		if err != nil {
			return nil, err
		}
		if name == "" {
			continue
		}
		if members[name] != nil {
			return nil, &geo.InputError{File: shown, Problem: fmt.Sprintf("the archive holds %q twice", name), Hint: "unpack it and name the .shp"}
		}
		members[name] = m
		b.names = append(b.names, name)
	}
	b.label = func(name string) string { return shown + ", " + name }
	b.open = func(name string) (*source, error) { return openMember(members[name], b.label(name)) }
	return b, nil
}

// noArchive says what a file is that zip cannot read.
func noArchive(at io.ReaderAt, size int64, shown string, err error) error {
	head := make([]byte, min(size, 512))
	n, _ := at.ReadAt(head, 0)
	e := sniff(head[:n])
	if e == nil || bytes.HasPrefix(head[:n], []byte("PK")) {
		e = &geo.InputError{
			Problem: fmt.Sprintf("this is no zip archive that can be read (%d bytes): %v", size, err),
			Hint:    "it may be cut short; fetch or copy it again",
		}
	}
	e.File = shown
	return e
}

// memberName is the name of a member with slashes, "" for what is passed over:
// folders and the droppings of file managers.
func memberName(m *zip.File, shown string) (string, error) {
	name := m.Name
	if m.NonUTF8 && !utf8.ValidString(name) {
		name, _ = charmap.CodePage437.NewDecoder().String(name) // APPNOTE.TXT appendix D
	}
	name = strings.ReplaceAll(name, `\`, "/")
	refused := &geo.InputError{File: shown}
	if strings.HasPrefix(name, "/") || driveLetter.MatchString(name) {
		refused.Problem = fmt.Sprintf("the archive member %q has an absolute path", name)
		refused.Hint = "pack it again without paths"
		return "", refused
	}
	for element := range strings.SplitSeq(name, "/") {
		switch {
		case element == "..":
			refused.Problem = fmt.Sprintf("the archive member %q leads out of its folder", name)
			refused.Hint = "pack it again without paths"
			return "", refused
		case element == "__MACOSX", element == ".DS_Store", strings.HasPrefix(element, "._"):
			return "", nil
		}
	}
	if strings.HasSuffix(name, "/") || m.Mode()&fs.ModeType != 0 {
		return "", nil
	}
	if m.Flags&1 != 0 {
		refused.Problem = fmt.Sprintf("the archive member %q is encrypted", name)
		refused.Hint = "unpack it with its password and name the .shp"
		return "", refused
	}
	if strings.EqualFold(path.Ext(name), ".zip") {
		refused.Problem = fmt.Sprintf("the archive holds another archive, %q", name)
		refused.Hint = "unpack it and name the inner one"
		return "", refused
	}
	return path.Clean(name), nil
}

// openMember opens a member for reading in step.
func openMember(m *zip.File, label string) (*source, error) {
	size, packed := m.UncompressedSize64, m.CompressedSize64
	refused := &geo.InputError{File: label, Hint: "unpack the archive and name the .shp"}
	switch {
	case size > maxMemberBytes:
		refused.Problem = fmt.Sprintf("the member unpacks to %d bytes; at most %d GiB are read", size, maxMemberBytes>>30)
		return nil, refused
	case size > ratioFrom && size/maxRatio >= packed:
		refused.Problem = fmt.Sprintf("the member unpacks from %d to %d bytes; at most 1:%d is read", packed, size, maxRatio)
		return nil, refused
	}
	r, err := m.Open()
	if err != nil {
		refused.Problem = fmt.Sprintf("the member cannot be unpacked: %v", err)
		return nil, refused
	}
	// closing only repeats an error of reading, which was dealt with there
	leave := func() error { r.Close(); return nil }
	return &source{label: label, size: int64(size), r: r, close: leave}, nil
}

// finish makes sure that a file read in step ends where it should and, in an
// archive, that its checksum is right.
func (s *source) finish() error {
	if s.at != nil {
		return nil
	}
	if err := s.seek(s.size); err != nil {
		return err
	}
	n, err := io.ReadFull(s.r, make([]byte, 1))
	switch {
	case n > 0:
		return &geo.InputError{File: s.label, Problem: fmt.Sprintf("the file goes on past the %d bytes that are stated", s.size), Hint: "fetch or copy it again"}
	case errors.Is(err, io.EOF):
		return nil
	}
	return &geo.InputError{File: s.label, Problem: fmt.Sprintf("the file is damaged: %v", err), Hint: "fetch or copy it again"}
}

// whole reads a file that can only be read in step into memory.
func (s *source) whole() error {
	if s.at != nil {
		return nil
	}
	if s.size > maxWholeBytes {
		return &geo.InputError{
			File:    s.label,
			Problem: fmt.Sprintf("its records are not in order, and the file is larger than the %d MiB that are then read", maxWholeBytes>>20),
			Hint:    "unpack the archive and name the .shp",
		}
	}
	rest, err := io.ReadAll(io.LimitReader(s.r, s.size))
	if err != nil {
		return s.broken(err)
	}
	all := append(s.buf[:len(s.buf):len(s.buf)], rest...)
	if s.base != 0 || int64(len(all)) < s.size {
		return s.ended(int(min(s.left(), maxWholeBytes)))
	}
	at := s.offset()
	s.at = bytes.NewReader(all)
	s.buf, s.pos, s.base = all, int(at), 0
	return nil
}
