package delivery

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"path"
	"strings"

	"hemrow/geo"
)

// Source is a file or folder and the folder it lies in, which is where its
// companions are looked for.
type Source struct {
	FS   fs.FS
	Path string // in FS, slashed; "." for FS itself
	Name string // as the user named it, for messages; "" for Path
}

// Shown is the name for messages.
func (s Source) Shown() string {
	if s.Name != "" {
		return s.Name
	}
	return s.Path
}

func (s Source) fault(problem, hint string) error {
	return &geo.InputError{File: s.Shown(), Problem: problem, Hint: hint}
}

// cannot words a failure of the file system.
func (s Source) cannot(err error) error {
	var p *fs.PathError
	if errors.As(err, &p) {
		err = p.Err
	}
	hint := ""
	if errors.Is(err, fs.ErrNotExist) && strings.Contains(s.Path, ",") {
		hint = "several files are given one by one, or as a list: [a.tif, b.tif]"
	}
	return s.fault("cannot be read: "+err.Error(), hint)
}

// mostBytes bounds a file that is read as a whole: 1 GiB is some fifty million
// vertices as text.
const mostBytes = 1 << 30

// opened is an open file with its size and its first bytes.
type opened struct {
	fs.File
	size int64
	head []byte
	at   io.ReaderAt
}

// headBytes is how much of a file is looked at to tell what it is.
const headBytes = 4096

// open opens a regular file for reading anywhere in it. Files that cannot seek
// are read into memory.
func (s Source) open() (*opened, error) {
	info, err := fs.Stat(s.FS, s.Path) // before Open, which waits at a pipe
	switch {
	case err != nil:
		return nil, s.cannot(err)
	case !info.Mode().IsRegular():
		return nil, s.fault("is no regular file", "")
	}
	f, err := s.FS.Open(s.Path)
	if err != nil {
		return nil, s.cannot(err)
	}
	o := &opened{File: f, size: info.Size()}
	var ok bool
	if o.at, ok = f.(io.ReaderAt); !ok {
		data, err := io.ReadAll(io.LimitReader(f, mostBytes+1))
		if err == nil && len(data) > mostBytes {
			err = fmt.Errorf("more than the %d bytes that are read", mostBytes)
		}
		if err != nil {
			f.Close()
			return nil, s.cannot(err)
		}
		o.at, o.size = bytes.NewReader(data), int64(len(data))
	}
	o.head = make([]byte, min(headBytes, o.size))
	if n, err := o.at.ReadAt(o.head, 0); n < len(o.head) {
		f.Close()
		return nil, s.cannot(err)
	}
	return o, nil
}

// whole is a reader of all bytes from the first.
func (o *opened) whole() io.Reader { return io.NewSectionReader(o.at, 0, o.size) }

// beside reads a small companion of the same name with another extension, in
// any case; ok is false if there is none.
func (s Source) beside(ext string) (text string, ok bool) {
	stem := strings.TrimSuffix(path.Base(s.Path), path.Ext(s.Path))
	entries, err := fs.ReadDir(s.FS, path.Dir(s.Path))
	if err != nil {
		return "", false
	}
	for _, e := range entries {
		if !e.Type().IsRegular() || !strings.EqualFold(e.Name(), stem+ext) {
			continue
		}
		f, err := s.FS.Open(path.Join(path.Dir(s.Path), e.Name()))
		if err != nil {
			return "", false
		}
		defer f.Close()
		data, err := io.ReadAll(io.LimitReader(f, mostCompanion))
		return string(data), err == nil
	}
	return "", false
}

// mostCompanion is far above any .prj file: 64 KiB.
const mostCompanion = 64 << 10
