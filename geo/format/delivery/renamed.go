package delivery

import (
	"io/fs"
	"path"
	"strings"
)

// as is the source under a name with the ending that its content calls for, for
// readers that go by names. A source with that ending is returned as it is; any
// other stands alone, without companions.
func (s Source) as(ext string) Source {
	if strings.EqualFold(path.Ext(s.Path), ext) {
		return s
	}
	return Source{FS: renamed{s, memoryName + ext}, Path: memoryName + ext, Name: s.Shown()}
}

// renamed is a folder of one file under another name.
type renamed struct {
	src  Source
	name string
}

var _ fs.ReadDirFS = renamed{}

// Open is that of [fs.FS].
func (r renamed) Open(name string) (fs.File, error) {
	if name != r.name {
		return nil, &fs.PathError{Op: "open", Path: name, Err: fs.ErrNotExist}
	}
	return r.src.FS.Open(r.src.Path)
}

// ReadDir is that of [fs.ReadDirFS].
func (r renamed) ReadDir(string) ([]fs.DirEntry, error) {
	info, err := fs.Stat(r.src.FS, r.src.Path)
	if err != nil {
		return nil, err
	}
	return []fs.DirEntry{renamedEntry{fs.FileInfoToDirEntry(info), r.name}}, nil
}

type renamedEntry struct {
	fs.DirEntry
	name string
}

// Name is that of [fs.DirEntry].
func (e renamedEntry) Name() string { return e.name }
