package shapefile

import (
	"cmp"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"path"
	"slices"
	"strings"

	"hemrow/geo"
)

// Options choose among the layers of an archive or folder.
type Options struct {
	// Layer is the base name of the .shp, without regard to case; "" takes the
	// only one.
	Layer string
}

// bundle is where the files of layers lie: a folder or an archive.
type bundle struct {
	shown string // as the user named it
	what  string // folder or archive
	names []string
	only  string // the .shp that was named, "" for any
	label func(name string) string
	open  func(name string) (*source, error)
	files io.Closer // the archive itself
	notes geo.Notes
}

func (b *bundle) close() error {
	if b.files == nil {
		return nil
	}
	return b.files.Close()
}

// parts are the files of one layer, "" for those that are missing.
type parts struct {
	layer, shp, shx, dbf, prj, cpg string
}

// isPart tells the endings of companion files that may be named instead of the
// .shp.
func isPart(ext string) bool {
	switch strings.ToLower(ext) {
	case ".shx", ".dbf", ".prj", ".cpg":
		return true
	}
	return false
}

// openBundle opens what the user named.
func openBundle(fsys fs.FS, name, shown string) (*bundle, error) {
	f, err := fsys.Open(name)
	if err != nil {
		return nil, unopened(shown, err)
	}
	info, err := f.Stat()
	if err != nil {
		return nil, errors.Join(unopened(shown, err), f.Close())
	}
	if info.IsDir() {
		return folderBundle(fsys, name, shown, f)
	}
	ext := path.Ext(name)
	if strings.EqualFold(ext, ".shp") || isPart(ext) {
		return looseBundle(fsys, name, shown, f)
	}
	b, err := archiveBundle(f, info.Size(), shown)
	if err != nil {
		f.Close()
		return nil, err
	}
	return b, nil
}

// unopened is a file that could not be opened, under the user's name for it.
func unopened(shown string, err error) error {
	var p *fs.PathError
	if errors.As(err, &p) {
		err = p.Err
	}
	return fmt.Errorf("%s: %w", shown, err)
}

func folderBundle(fsys fs.FS, name, shown string, f fs.File) (*bundle, error) {
	b := &bundle{shown: shown, what: "folder"}
	b.label = func(n string) string { return strings.TrimSuffix(shown, "/") + "/" + n }
	b.open = func(n string) (*source, error) { return openLoose(fsys, path.Join(name, n), b.label(n)) }
	f.Close()
	return b, b.list(fsys, name)
}

// list names the files of a folder.
func (b *bundle) list(fsys fs.FS, folder string) error {
	entries, err := fs.ReadDir(fsys, folder)
	if err != nil {
		return unopened(b.shown, err)
	}
	for _, e := range entries {
		if !e.IsDir() && !strings.HasPrefix(e.Name(), "._") {
			b.names = append(b.names, e.Name())
		}
	}
	return nil
}

// looseBundle is a .shp, or one of its companions, with what lies beside it.
func looseBundle(fsys fs.FS, name, shown string, f fs.File) (*bundle, error) {
	folder, file := path.Split(name)
	beside := strings.TrimSuffix(shown, file) // what the user wrote before the name
	b := &bundle{shown: shown, what: "folder"}
	b.label = func(n string) string {
		if n == file || beside == shown {
			return strings.TrimSuffix(shown, path.Ext(shown)) + path.Ext(n)
		}
		return beside + n
	}
	b.open = func(n string) (*source, error) { return openLoose(fsys, path.Join(folder, n), b.label(n)) }
	f.Close()
	if err := b.list(fsys, path.Clean(folder)); err != nil || !slices.Contains(b.names, file) {
		b.names = []string{file} // a file system that cannot list, or a hidden file
	}
	if b.only = file; !isPart(path.Ext(file)) {
		return b, nil
	}
	if b.only = b.find(file, ".shp"); b.only == "" {
		base := strings.TrimSuffix(file, path.Ext(file))
		return nil, &geo.InputError{
			File:    shown,
			Problem: fmt.Sprintf("this is only a companion of a shapefile; the shapes are in %s.shp, which is not beside it", base),
			Hint:    "copy all files of the layer into one folder and name the .shp",
		}
	}
	b.notes = append(b.notes, geo.Note{
		Code: geo.NoteMainFile, Place: shown,
		Text: fmt.Sprintf("the shapes were read from %s beside it", b.only),
	})
	return b, nil
}

// openLoose opens a file of a folder.
func openLoose(fsys fs.FS, name, label string) (*source, error) {
	f, err := fsys.Open(name)
	if err != nil {
		return nil, unopened(label, err)
	}
	info, err := f.Stat()
	if err != nil {
		return nil, errors.Join(unopened(label, err), f.Close())
	}
	at, size, err := randomAccess(f, info.Size(), label)
	if err != nil {
		f.Close()
		return nil, err
	}
	return &source{label: label, size: size, r: io.NewSectionReader(at, 0, size), at: at, close: f.Close}, nil
}

// find is the companion of a file with another ending, "" if there is none.
// The spelling of the file goes before any other.
func (b *bundle) find(file, ext string) string {
	base := strings.TrimSuffix(file, path.Ext(file))
	best, good := "", 0
	for _, n := range b.names {
		e := path.Ext(n)
		if !strings.EqualFold(e, ext) || !strings.EqualFold(strings.TrimSuffix(n, e), base) {
			continue
		}
		k := 1
		if strings.TrimSuffix(n, e) == base {
			k = 2
		}
		if sameCase(file, n) {
			k++
		}
		if k > good {
			best, good = n, k
		}
	}
	return best
}

// sameCase reports whether two files of a layer are spelt alike: the same base
// name, and endings both in capitals or both not.
func sameCase(a, b string) bool {
	ea, eb := path.Ext(a), path.Ext(b)
	return strings.TrimSuffix(a, ea) == strings.TrimSuffix(b, eb) &&
		(ea == strings.ToUpper(ea)) == (eb == strings.ToUpper(eb)) &&
		(ea == strings.ToLower(ea)) == (eb == strings.ToLower(eb))
}

// layers are the layers of the bundle in the order of their names.
func (b *bundle) layers() (out []parts) {
	for _, n := range b.names {
		if !strings.EqualFold(path.Ext(n), ".shp") || b.only != "" && n != b.only {
			continue
		}
		base := path.Base(n)
		out = append(out, parts{
			layer: strings.TrimSuffix(base, path.Ext(base)), shp: n,
			shx: b.find(n, ".shx"), dbf: b.find(n, ".dbf"), prj: b.find(n, ".prj"), cpg: b.find(n, ".cpg"),
		})
	}
	slices.SortFunc(out, func(x, y parts) int { return cmp.Compare(x.shp, y.shp) })
	return out
}

// choose is the layer that is meant.
func (b *bundle) choose(opt Options) (parts, error) {
	all := b.layers()
	if len(all) == 0 {
		return parts{}, b.noLayer()
	}
	if opt.Layer == "" && len(all) == 1 {
		return all[0], nil
	}
	found := called(all, opt.Layer, parts.path)
	if len(found) != 1 {
		found = called(all, opt.Layer, func(p parts) string { return p.layer })
	}
	if len(found) == 1 {
		b.leave(len(all) - 1)
		return found[0], nil
	}
	return parts{}, b.ask(all, len(found), opt)
}

// path is the .shp with its folder, without its ending.
func (p parts) path() string { return strings.TrimSuffix(p.shp, path.Ext(p.shp)) }

func called(all []parts, name string, what func(parts) string) (out []parts) {
	for _, p := range all {
		if strings.EqualFold(what(p), name) {
			out = append(out, p)
		}
	}
	return out
}

// leave notes the layers that were not asked for.
func (b *bundle) leave(n int) {
	if n > 0 {
		b.notes = append(b.notes, geo.Note{
			Code: geo.NoteMemberLeft, Place: b.shown, Value: float64(n), Unit: "layers",
			Text: fmt.Sprintf("%s of the %s%s not read", plural(n, "other layer", "other layers"), b.what, were(n)),
		})
	}
}

func were(n int) string {
	if n == 1 {
		return " was"
	}
	return " were"
}

// noLayer says what is there instead of a .shp.
func (b *bundle) noLayer() error {
	e := &geo.InputError{File: b.shown, Problem: fmt.Sprintf("the %s holds no .shp", b.what), Hint: "a shapefile needs its .shp, .shx, .dbf and .prj together"}
	for _, n := range b.names {
		if isPart(path.Ext(n)) {
			e.Problem = fmt.Sprintf("the %s holds %s, but not the shapes: %s.shp is needed", b.what, n, strings.TrimSuffix(n, path.Ext(n)))
			break
		}
		if b.what == "folder" && strings.EqualFold(path.Ext(n), ".zip") {
			e.Hint = fmt.Sprintf("it holds %s; if that is meant, name it", n)
		}
	}
	return e
}

// ask lists the layers, for the user to name one.
func (b *bundle) ask(all []parts, found int, opt Options) error {
	words := make([]string, len(all))
	for i, p := range all {
		name := p.layer
		for k, q := range all {
			if k != i && strings.EqualFold(p.layer, q.layer) {
				name = p.path()
			}
		}
		words[i] = fmt.Sprintf("%s (%s)", name, b.describe(p))
	}
	list := strings.Join(words, ", ")
	e := &geo.InputError{File: b.shown, Hint: "name the layer to read"}
	switch {
	case opt.Layer == "":
		e.Problem = fmt.Sprintf("the %s holds %s: %s", b.what, plural(len(all), "layer", "layers"), list)
	case found > 1:
		e.Problem = fmt.Sprintf("%d layers are called %q: %s", found, opt.Layer, list)
		e.Hint = "name the layer with its folder"
	default:
		e.Problem = fmt.Sprintf("no layer is called %q; the %s holds %s", opt.Layer, b.what, list)
	}
	return e
}

// describe is number and kind of the shapes of a layer in words.
func (b *bundle) describe(p parts) string {
	shp, err := b.open(p.shp)
	if err != nil {
		return "cannot be read"
	}
	defer shp.close()
	head, err := readHeader(shp)
	if err != nil {
		return "cannot be read"
	}
	n := -1
	if p.shx != "" {
		if shx, err := b.open(p.shx); err == nil {
			n = int((shx.size - headerBytes) / indexBytes)
			shx.close()
		}
	}
	if n < 0 {
		n = countRecords(shp)
	}
	return plural(max(n, 0), "feature", "features") + ", " + kindWord(head.kind)
}
