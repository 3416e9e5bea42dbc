package taskdata

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"path"
	"slices"
	"strings"

	"hemrow/geo"
	"hemrow/geo/format"
	"hemrow/geo/format/markup"
)

const (
	mainFile = "TASKDATA.XML"
	// maxEntries bounds the search for the main file in a folder.
	maxEntries = 10000
)

// ReadFS reads a file set: at is the folder that holds it, its TASKDATA.XML, or
// a zip archive of it, inside fsys. shown is how the user named it. The main
// file is found by name in any case, with a note when that is not in capitals,
// in the folder itself or below it; of several, none is taken.
func ReadFS(fsys fs.FS, at, shown string) (format.File, error) {
	info, err := fs.Stat(fsys, at)
	if err != nil {
		return empty(shown), fmt.Errorf("%s: %w", shown, err)
	}
	if info.IsDir() {
		return readFolder(fsys, at, shown, shown+"/")
	}
	f, err := fsys.Open(at)
	if err != nil {
		return empty(shown), fmt.Errorf("%s: %w", shown, err)
	}
	defer f.Close()
	var head [4]byte
	n, _ := io.ReadFull(f, head[:])
	whole := io.MultiReader(bytes.NewReader(head[:n]), f)
	if !markup.IsZip(head[:n]) {
		s := set{fsys: fsys, dir: path.Dir(at), prefix: path.Dir(strings.ReplaceAll(shown, `\`, "/")) + "/"}
		return readSet(shown, shown, whole, s.open)
	}
	return readArchive(shown, whole)
}

// readArchive reads the file set in a zip archive.
func readArchive(shown string, in io.Reader) (format.File, error) {
	all, err := markup.ReadArchive(shown, in)
	if err != nil {
		return empty(shown), err
	}
	z, err := markup.OpenArchive(shown, bytes.NewReader(all), int64(len(all)))
	if err != nil {
		return empty(shown), err
	}
	out, err := readFolder(z, ".", shown, shown+", ")
	var e *geo.InputError
	if err != nil && !errors.As(err, &e) { // all is in memory: the fault lies in the archive
		return out, &geo.InputError{
			File: shown, Problem: fmt.Sprintf("a member cannot be unpacked: %v", errors.Unwrap(err)),
			Hint: "the archive is damaged; fetch or pack it again",
		}
	}
	return out, err
}

// set is the folder of a file set.
type set struct {
	fsys   fs.FS
	dir    string
	prefix string // of the folder, for messages
}

func readFolder(fsys fs.FS, dir, shown, prefix string) (format.File, error) {
	found, err := find(fsys, dir)
	switch {
	case errors.Is(err, errMany):
		return empty(shown), &geo.InputError{File: shown, Problem: err.Error(), Hint: "give the folder TASKDATA itself"}
	case err != nil:
		return empty(shown), fmt.Errorf("%s: %w", shown, err)
	}
	switch len(found) {
	case 0:
		return empty(shown), &geo.InputError{File: shown, Problem: "there is no " + mainFile + " in it", Hint: "give the folder TASKDATA as the terminal wrote it"}
	case 1:
	default:
		return empty(shown), &geo.InputError{
			File: shown, Problem: fmt.Sprintf("there are %d file sets in it: %s", len(found), strings.Join(found[:min(len(found), 10)], ", ")),
			Hint: "name one of them",
		}
	}
	in, err := fsys.Open(found[0])
	if err != nil {
		return empty(shown), fmt.Errorf("%s: %w", shown, err)
	}
	defer in.Close()
	rel := found[0]
	if dir != "." {
		rel = strings.TrimPrefix(rel, dir+"/")
	}
	s := set{fsys: fsys, dir: path.Dir(found[0]), prefix: strings.TrimSuffix(prefix+rel, path.Base(rel))}
	out, err := readSet(shown, prefix+rel, in, s.open)
	if base := path.Base(rel); err == nil && base != mainFile {
		out.Notes = append(out.Notes, caseNote(prefix+rel, base, mainFile))
	}
	return out, err
}

func caseNote(place, got, want string) geo.Note {
	return geo.Note{
		Code: geo.NoteNameCase, Severity: geo.Info, Place: place,
		Text: fmt.Sprintf("the file is named %s, not %s; it was read all the same", got, want),
		Hint: "terminals may look for capitals only",
	}
}

// errMany ends a search that takes too long.
var errMany = errors.New("it holds too many files to look for " + mainFile)

// find lists the main files at or below dir: the nearest one alone if it stands
// in dir or in a folder TASKDATA there.
func find(fsys fs.FS, dir string) (found []string, err error) {
	entries := 0
	err = fs.WalkDir(fsys, dir, func(at string, e fs.DirEntry, err error) error {
		if entries++; entries > maxEntries {
			return errMany
		}
		if err != nil {
			return err
		}
		if e.IsDir() && markup.Litter(at) {
			return fs.SkipDir
		}
		if !e.IsDir() && !markup.Litter(at) && strings.EqualFold(e.Name(), mainFile) {
			found = append(found, at)
		}
		return nil
	})
	// beside one in capitals, the others in its folder are leftovers
	all := slices.Clone(found)
	found = slices.DeleteFunc(found, func(f string) bool {
		return path.Base(f) != mainFile && slices.Contains(all, path.Join(path.Dir(f), mainFile))
	})
	for _, want := range [...]string{mainFile, "TASKDATA/" + mainFile} {
		for _, f := range found {
			if strings.EqualFold(strings.TrimPrefix(f, dir+"/"), want) {
				return []string{f}, err
			}
		}
	}
	return found, err
}

// open opens an external file beside the main one, in any case.
func (s set) open(t *task, name string) (in io.ReadCloser, shown string, err error) {
	want := name + ".XML"
	entries, err := fs.ReadDir(s.fsys, s.dir)
	if err != nil {
		return nil, "", fmt.Errorf("%s: %w", s.prefix, err)
	}
	got := ""
	for _, e := range entries {
		if e.Name() == want || got == "" && strings.EqualFold(e.Name(), want) {
			got = e.Name()
		}
	}
	shown = strings.TrimPrefix(s.prefix+got, "./")
	if got == "" {
		return nil, "", errNoFile
	}
	if in, err = s.fsys.Open(path.Join(s.dir, got)); err != nil {
		return nil, "", fmt.Errorf("%s: %w", shown, err)
	}
	if got != want {
		t.out.Notes = append(t.out.Notes, caseNote(shown, got, want))
	}
	return in, shown, nil
}
