package pipeline

import (
	"crypto/sha256"
	"encoding/hex"
	"io"
	"io/fs"
	"path"
	"path/filepath"
	"slices"
	"strings"

	"hemrow/cmd/hemrow/internal/result"
	"hemrow/geo"
	"hemrow/geo/format"
	"hemrow/geo/format/delivery"
)

// Find tells where a file that the plan names is.
type Find func(name string) delivery.Source

// inputs keeps account of every file that was read.
type inputs struct {
	find  Find
	files []result.InputFile
	// uncounted leaves the account out, which reads every file once more.
	uncounted bool
}

// opening is a folder that remembers which of its files were opened.
type opening struct {
	fs.FS
	names []string
}

func (o *opening) Open(name string) (fs.File, error) {
	f, err := o.FS.Open(name)
	if err == nil && !slices.Contains(o.names, name) {
		o.names = append(o.names, name)
	}
	return f, err
}

// layerMark parts the name of a file from that of a layer in it.
const layerMark = "#"

// layerOf is the layer that a name such as parcels.zip#wells asks for.
func layerOf(name string) string {
	_, layer, _ := cutLast(name, layerMark)
	return layer
}

func cutLast(s, sep string) (before, after string, found bool) {
	if i := strings.LastIndex(s, sep); i >= 0 {
		return s[:i], s[i+len(sep):], true
	}
	return s, "", false
}

// locate finds a file by its name in the plan. A name with a layer behind is
// that of the file before it, unless there is a file so called.
func (in *inputs) locate(name string) delivery.Source {
	src := in.find(name)
	if _, err := fs.Stat(src.FS, src.Path); err != nil {
		if file, _, ok := cutLast(name, layerMark); ok {
			return in.find(file)
		}
	}
	return src
}

// features reads a file of outlines, obstacles or lines.
func (in *inputs) features(name, role string, opt delivery.Options) (f format.File, err error) {
	if opt.Layer == "" {
		opt.Layer = layerOf(name)
	}
	err = in.read(name, role, func(src delivery.Source) (string, error) {
		f, err = delivery.Read(src, opt)
		return f.Format, err
	})
	return f, err
}

// read has one file read and records it with the companions it brought.
func (in *inputs) read(name, role string, read func(delivery.Source) (kind string, err error)) error {
	src := in.locate(name)
	o := &opening{FS: src.FS}
	src.FS = o
	kind, err := read(src)
	if err != nil || in.uncounted {
		return err
	}
	slices.Sort(o.names) // companions are opened in any order
	for _, n := range o.names {
		if n != src.Path {
			if err := in.record(o.FS, n, companion, role); err != nil {
				return err
			}
			continue
		}
		if err := in.record(o.FS, n, kind, role); err != nil {
			return err
		}
	}
	return nil
}

// companion is the format of a file that only helps to read another.
const companion = "companion"

func (in *inputs) record(fsys fs.FS, name, kind, role string) error {
	f, err := fsys.Open(name)
	if err != nil {
		return unreadable(name, err)
	}
	defer f.Close()
	if info, err := f.Stat(); err == nil && info.IsDir() {
		return nil
	}
	h := sha256.New()
	n, err := io.Copy(h, f)
	if err != nil {
		return unreadable(name, err)
	}
	in.files = append(in.files, result.InputFile{
		File: path.Base(name), Format: kind, Role: role, Bytes: n, SHA256: hex.EncodeToString(h.Sum(nil)),
	})
	return nil
}

func unreadable(name string, err error) error {
	return &geo.InputError{File: name, Problem: "cannot be read: " + strings.TrimPrefix(err.Error(), "open "+name+": ")}
}

// Describe is a file as the document records it: by its base name, since the
// rest of its path says nothing elsewhere.
func Describe(name, kind, role string, data []byte) result.InputFile {
	sum := sha256.Sum256(data)
	return result.InputFile{
		File: filepath.Base(name), Format: kind, Role: role,
		Bytes: int64(len(data)), SHA256: hex.EncodeToString(sum[:]),
	}
}
