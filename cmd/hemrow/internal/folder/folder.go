// Package folder writes the files of one run into a folder, all of them or
// none, and never over a file that hemrow did not write.
//
// It knows its own files by a list it leaves in the folder, [ListName]: the
// SHA-256 and name of each file, in the form that sha256sum -c reads. A file
// changed by hand since is nobody's but its owner's, and is left alone.
package folder

import (
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
	"strings"
)

// ListName is the file that lists what hemrow wrote into a folder.
const ListName = ".hemrow-made"

// File is one file to write. Name has no folder in it.
type File struct {
	Name string
	Data []byte
}

// Options for [Write].
type Options struct {
	// Force overwrites files that hemrow did not write. It never overwrites a
	// folder or a protected file.
	Force bool
	// Protect lists files that must not be overwritten whatever happens: the
	// inputs of the run. A path that leads to the same file by a link counts.
	Protect []string
}

// Write writes files into dir, which is made if it is not there. Files are
// written under another name in a folder inside dir, brought to the disk, and
// then renamed one by one; when any step fails, what was renamed is put back,
// so that dir holds what it held before. Nothing is written when a file would
// overwrite one that hemrow did not write, or a protected one.
//
// Names must be plain and fit for every common system: no path, no colon or
// other sign that one of them forbids, no two alike but for their case.
func Write(dir string, files []File, opt Options) error {
	return disk{rename: os.Rename, write: writeSynced}.save(dir, files, opt)
}

// disk is the file system, as far as tests need to break it.
type disk struct {
	rename func(from, to string) error
	write  func(name string, data []byte) error
}

func (d disk) save(dir string, files []File, opt Options) (err error) {
	if err := checkNames(files); err != nil {
		return err
	}
	made, err := makeFolder(dir)
	if err != nil {
		return err
	}
	defer func() {
		if err != nil {
			removeEmpty(made)
		}
	}()
	list, err := readList(dir)
	if err != nil && !opt.Force {
		return err
	}
	if err := checkTargets(dir, files, list, opt); err != nil {
		return err
	}
	tmp, err := os.MkdirTemp(dir, ".hemrow-new-*")
	if err != nil {
		return fmt.Errorf("cannot write into %s: %w", dir, plain(err))
	}
	all := append(files[:len(files):len(files)], File{ListName, list.with(files, dir)})
	done, err := d.replace(dir, tmp, all)
	if err != nil {
		// Where putting back fails too, the old files stay in tmp.
		if undo := d.putBack(dir, tmp, done); undo != nil {
			return errors.Join(err, undo)
		}
		return errors.Join(err, os.RemoveAll(tmp))
	}
	return os.RemoveAll(tmp)
}

// move is one file that was put in place, and whether there was one before.
type move struct {
	name string
	old  bool
}

// replace writes all files below tmp and then puts them in place; done are
// those that it moved, for [disk.putBack].
func (d disk) replace(dir, tmp string, files []File) (done []move, err error) {
	for _, f := range files {
		if err := d.write(filepath.Join(tmp, f.Name), f.Data); err != nil {
			return nil, fmt.Errorf("cannot write %s: %w", f.Name, plain(err))
		}
	}
	for _, f := range files {
		target := filepath.Join(dir, f.Name)
		old := false
		if _, err := os.Lstat(target); err == nil {
			if err := d.rename(target, backup(tmp, f.Name)); err != nil {
				return done, fmt.Errorf("cannot replace %s: %w", f.Name, plain(err))
			}
			old = true
		}
		done = append(done, move{f.Name, old})
		if err := d.rename(filepath.Join(tmp, f.Name), target); err != nil {
			return done, fmt.Errorf("cannot put %s in place: %w", f.Name, plain(err))
		}
	}
	return done, syncFolder(dir)
}

// putBack undoes moves, the last first.
func (d disk) putBack(dir, tmp string, done []move) error {
	var errs []error
	for i := len(done) - 1; i >= 0; i-- {
		target := filepath.Join(dir, done[i].name)
		if err := os.Remove(target); err != nil && !errors.Is(err, fs.ErrNotExist) {
			errs = append(errs, err)
			continue
		}
		if done[i].old {
			if err := d.rename(backup(tmp, done[i].name), target); err != nil {
				errs = append(errs, fmt.Errorf("the old %s could not be put back and is in %s: %w", done[i].name, filepath.Base(tmp), plain(err)))
			}
		}
	}
	return errors.Join(errs...)
}

// backup is where an old file waits; no output may carry such a name.
func backup(tmp, name string) string { return filepath.Join(tmp, name+"~old") }

// writeSynced writes a new file and brings it to the disk.
func writeSynced(name string, data []byte) error {
	f, err := os.OpenFile(name, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o666)
	if err != nil {
		return err
	}
	_, err = f.Write(data)
	return errors.Join(err, f.Sync(), f.Close())
}

// syncFolder brings the renames to the disk, where the system can.
func syncFolder(dir string) error {
	if runtime.GOOS == "windows" { // which has no such call for folders
		return nil
	}
	f, err := os.Open(dir)
	if err != nil {
		return err
	}
	return errors.Join(f.Sync(), f.Close())
}

// makeFolder makes dir and says which folders it had to make, deepest first.
func makeFolder(dir string) (made []string, err error) {
	if dir == "" {
		return nil, errors.New("the output folder has no name")
	}
	if info, err := os.Stat(dir); err == nil && !info.IsDir() {
		return nil, fmt.Errorf("%s is a file, not a folder; choose another name for the output folder", dir)
	}
	for p := filepath.Clean(dir); ; p = filepath.Dir(p) {
		if _, err := os.Lstat(p); !errors.Is(err, fs.ErrNotExist) || p == filepath.Dir(p) {
			break
		}
		made = append(made, p)
	}
	if err := os.MkdirAll(dir, 0o777); err != nil {
		removeEmpty(made)
		return nil, fmt.Errorf("cannot make the folder %s: %w", dir, plain(err))
	}
	return made, nil
}

// removeEmpty takes away folders that were made for nothing. One that holds
// something stays: os.Remove refuses it.
func removeEmpty(made []string) {
	for _, p := range made {
		if os.Remove(p) != nil {
			return
		}
	}
}

// plain is an error of the file system without the paths it repeats.
func plain(err error) error {
	var p *fs.PathError
	var l *os.LinkError
	switch {
	case errors.As(err, &p):
		return p.Err
	case errors.As(err, &l):
		return l.Err
	}
	return err
}

func sum(data []byte) string {
	h := sha256.Sum256(data)
	return hex.EncodeToString(h[:])
}

// reserved are the names that Windows keeps for devices.
func reserved(name string) bool {
	stem, _, _ := strings.Cut(strings.ToUpper(name), ".")
	switch stem {
	case "CON", "PRN", "AUX", "NUL":
		return true
	}
	return len(stem) == 4 && (stem[:3] == "COM" || stem[:3] == "LPT") && stem[3] >= '1' && stem[3] <= '9'
}

func checkNames(files []File) error {
	seen := map[string]bool{strings.ToLower(ListName): true}
	for _, f := range files {
		low := strings.ToLower(f.Name)
		bad := strings.ContainsFunc(f.Name, func(r rune) bool { return r < ' ' || strings.ContainsRune(`<>:"/\|?*`, r) })
		switch {
		case f.Name == "" || bad || reserved(f.Name) || strings.HasPrefix(low, ".hemrow-") || strings.HasSuffix(low, "~old"),
			strings.HasSuffix(f.Name, ".") || strings.HasSuffix(f.Name, " "):
			return fmt.Errorf("%q is no name for an output file", f.Name)
		case seen[low]:
			return fmt.Errorf("two output files are called %q", f.Name)
		}
		seen[low] = true
	}
	return nil
}
