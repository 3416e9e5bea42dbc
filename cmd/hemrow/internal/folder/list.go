package folder

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"
)

// made maps the name of each file that hemrow wrote to its checksum.
type made map[string]string

// mostListBytes bounds the list that is read: thousands of lines.
const mostListBytes = 1 << 20

// readList reads what an earlier run left; an empty list if there is none.
func readList(dir string) (made, error) {
	f, err := os.Open(filepath.Join(dir, ListName))
	if errors.Is(err, fs.ErrNotExist) {
		return made{}, nil
	}
	if err != nil {
		return made{}, fmt.Errorf("cannot read %s: %w", ListName, plain(err))
	}
	defer f.Close()
	data, err := io.ReadAll(io.LimitReader(f, mostListBytes+1))
	if err != nil {
		return made{}, fmt.Errorf("cannot read %s: %w", ListName, plain(err))
	}
	list, ok := parseList(string(data))
	if !ok {
		return made{}, fmt.Errorf("%s is not as hemrow wrote it, so it cannot tell which files are its own; choose another folder, or use --force", ListName)
	}
	return list, nil
}

// parseList reads lines of a checksum, two spaces and a name.
func parseList(text string) (made, bool) {
	list := made{}
	if len(text) > mostListBytes {
		return nil, false
	}
	for line := range strings.Lines(text) {
		hash, name, ok := strings.Cut(strings.TrimRight(line, "\r\n"), "  ")
		if !ok || len(hash) != 64 || strings.Trim(hash, "0123456789abcdef") != "" || name == "" || list[name] != "" {
			return nil, false
		}
		list[name] = hash
	}
	return list, true
}

// with is the text of the list after a run: the new files, and old ones that
// are still as hemrow left them.
func (l made) with(files []File, dir string) []byte {
	next := made{}
	for name, hash := range l {
		if checkNames([]File{{Name: name}}) == nil && l.owns(dir, name) {
			next[name] = hash
		}
	}
	for _, f := range files {
		next[f.Name] = sum(f.Data)
	}
	var b strings.Builder
	for _, name := range slices.Sorted(maps.Keys(next)) {
		fmt.Fprintf(&b, "%s  %s\n", next[name], name)
	}
	return []byte(b.String())
}

// owns reports whether the file is one that hemrow wrote and nobody changed.
func (l made) owns(dir, name string) bool {
	path := filepath.Join(dir, name)
	info, err := os.Lstat(path)
	if err != nil || !info.Mode().IsRegular() || l[name] == "" {
		return false
	}
	data, err := os.ReadFile(path)
	return err == nil && sum(data) == l[name]
}

// checkTargets refuses to overwrite what must stay, and names all of it.
func checkTargets(dir string, files []File, list made, opt Options) error {
	var errs []error
	foreign := []string{}
	for _, f := range files {
		target := filepath.Join(dir, f.Name)
		if input := protected(target, opt.Protect); input != "" {
			errs = append(errs, fmt.Errorf("%s would overwrite %s, from which it is made; choose another output folder", target, input))
			continue
		}
		info, err := os.Lstat(target)
		switch {
		case errors.Is(err, fs.ErrNotExist):
		case err != nil:
			errs = append(errs, fmt.Errorf("cannot look at %s: %w", target, plain(err)))
		case info.IsDir():
			errs = append(errs, fmt.Errorf("%s is a folder; move it away or choose another output folder", target))
		case !opt.Force && !list.owns(dir, f.Name):
			foreign = append(foreign, f.Name)
		}
	}
	if len(foreign) > 0 {
		errs = append(errs, fmt.Errorf("%s in %s was not written by hemrow, or was changed since; move it away, choose another folder, or use --force to overwrite it", strings.Join(foreign, ", "), dir))
	}
	return errors.Join(errs...)
}

// protected names the protected file that target is, by whatever path.
func protected(target string, protect []string) string {
	abs, absErr := filepath.Abs(target)
	info, statErr := os.Stat(target)
	for _, p := range protect {
		if other, err := os.Stat(p); err == nil && statErr == nil && os.SameFile(info, other) {
			return p
		}
		if other, err := filepath.Abs(p); err == nil && absErr == nil && abs == other {
			return p
		}
	}
	return ""
}
