package folder

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"math/rand/v2"
	"os"
	"path/filepath"
)

// WriteOne writes one file by way of a temporary name beside it, so that it is
// whole or not there. An existing file is kept unless opt.Force is set; what is
// no regular file (a folder, a device, a pipe) and a protected file always are.
func WriteOne(name string, opt Options, write func(io.Writer) error) error {
	info, err := os.Stat(name)
	switch {
	case errors.Is(err, fs.ErrNotExist):
	case err != nil:
		return fmt.Errorf("cannot write %s: %w", name, plain(err))
	case !info.Mode().IsRegular():
		return fmt.Errorf("%s is no regular file and is left alone", name)
	case protected(name, opt.Protect) != "":
		return fmt.Errorf("%s is an input of this run and is not overwritten", name)
	case !opt.Force:
		return fmt.Errorf("%s is there already; use --force to overwrite it", name)
	}
	tmp, err := createBeside(name)
	if err != nil {
		return fmt.Errorf("cannot write %s: %w", name, plain(err))
	}
	defer os.Remove(tmp.Name()) // nothing is there any more once it is renamed
	w := bufio.NewWriterSize(tmp, 1<<16)
	if err := write(w); err != nil {
		return errors.Join(err, tmp.Close())
	}
	if err := errors.Join(w.Flush(), tmp.Sync(), tmp.Close()); err != nil {
		return fmt.Errorf("cannot write %s: %w", name, plain(err))
	}
	return os.Rename(tmp.Name(), name)
}

// createBeside makes a new file in the folder of name, with the permissions
// that a plain new file has there.
func createBeside(name string) (*os.File, error) {
	for {
		p := filepath.Join(filepath.Dir(name), fmt.Sprintf(".hemrow-new-%d", rand.Uint64()))
		f, err := os.OpenFile(p, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o666)
		if !errors.Is(err, fs.ErrExist) {
			return f, err
		}
	}
}
