package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"

	"hemrow/geo"
	"hemrow/geo/format"
	"hemrow/geo/format/delivery"
)

// The largest inputs that are read whole: a plan is a page of text, and an
// outline of a gigabyte is no outline. batch streams and has no such bound.
const (
	mostPlanBytes    = 1 << 20
	mostOutlineBytes = 1 << 30
)

// readBounded reads a regular file of at most most bytes.
func readBounded(name string, most int64) ([]byte, error) {
	info, err := os.Stat(name) // before Open, which waits at a pipe
	switch {
	case err != nil:
		return nil, errors.New(unwrapPath(err))
	case !info.Mode().IsRegular():
		return nil, errors.New("is no regular file")
	case info.Size() > most:
		return nil, fmt.Errorf("has %d bytes, more than the %d that are read", info.Size(), most)
	}
	f, err := os.Open(name)
	if err != nil {
		return nil, errors.New(unwrapPath(err))
	}
	defer f.Close()
	data, err := io.ReadAll(io.LimitReader(f, most+1))
	if err == nil && int64(len(data)) > most {
		err = fmt.Errorf("has more than the %d bytes that are read", most)
	}
	return data, err
}

// readOutline reads an outline file of any known format; - is standard input.
func readOutline(ctx context.Context, name string, in io.Reader, opt delivery.Options) (format.File, error) {
	src, err := inputSource(ctx, name, in)
	if err != nil {
		return format.File{}, err
	}
	return delivery.Read(src, opt)
}

// inputSource is where a file named on the command line is; - is standard input,
// which is read at once.
func inputSource(ctx context.Context, name string, in io.Reader) (delivery.Source, error) {
	switch name {
	case "":
		return delivery.Source{}, &usageError{errors.New("the name of the file is empty")}
	case "-":
	default:
		return fileSource(name), nil
	}
	const title = "standard input"
	data, err := io.ReadAll(io.LimitReader(until(ctx, in), mostOutlineBytes+1))
	if err == nil && len(data) > mostOutlineBytes {
		err = fmt.Errorf("has more than the %d bytes that are read", mostOutlineBytes)
	}
	if ctx.Err() != nil {
		return delivery.Source{}, ctx.Err()
	}
	if err != nil {
		return delivery.Source{}, &geo.InputError{File: title, Problem: "cannot be read: " + err.Error()}
	}
	return delivery.Bytes(title, data), nil
}

// fileSource is a file or folder of the file system.
func fileSource(name string) delivery.Source {
	name = filepath.Clean(name)
	return delivery.Source{FS: os.DirFS(filepath.Dir(name)), Path: filepath.Base(name), Name: name}
}

// unwrapPath is an error of the file system without the path it repeats.
func unwrapPath(err error) string {
	var p *os.PathError
	if errors.As(err, &p) {
		return p.Err.Error()
	}
	return err.Error()
}

// until is a reader that gives up when ctx ends, even in the middle of a read:
// standard input may stay silent for ever.
func until(ctx context.Context, r io.Reader) io.Reader {
	pr, pw := io.Pipe()
	stop := context.AfterFunc(ctx, func() { _ = pw.CloseWithError(ctx.Err()) })
	go func() {
		_, err := io.Copy(pw, r)
		stop()
		_ = pw.CloseWithError(err)
	}()
	return pr
}
