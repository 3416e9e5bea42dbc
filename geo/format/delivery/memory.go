package delivery

import (
	"bytes"
	"io/fs"
	"time"
)

// Bytes is a source in memory, such as what came by standard input.
func Bytes(name string, data []byte) Source {
	return Source{FS: memory{data}, Path: memoryName, Name: name}
}

const memoryName = "input"

// memory is a folder of one file.
type memory struct{ data []byte }

// Open is that of [fs.FS].
func (m memory) Open(name string) (fs.File, error) {
	if name != memoryName {
		return nil, &fs.PathError{Op: "open", Path: name, Err: fs.ErrNotExist}
	}
	return memoryFile{bytes.NewReader(m.data)}, nil
}

type memoryFile struct{ *bytes.Reader }

func (f memoryFile) Stat() (fs.FileInfo, error) { return memoryInfo{f.Size()}, nil }
func (f memoryFile) Close() error               { return nil }

type memoryInfo struct{ size int64 }

func (i memoryInfo) Name() string       { return memoryName }
func (i memoryInfo) Size() int64        { return i.size }
func (i memoryInfo) Mode() fs.FileMode  { return 0o400 }
func (i memoryInfo) ModTime() time.Time { return time.Time{} }
func (i memoryInfo) IsDir() bool        { return false }
func (i memoryInfo) Sys() any           { return nil }
