package folder

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

var twoFiles = []File{{"summary.txt", []byte("one\n")}, {"map.svg", []byte("<svg/>")}}

// contents is everything below a folder.
func contents(t *testing.T, dir string) map[string]string {
	t.Helper()
	all := map[string]string{}
	require.NoError(t, filepath.WalkDir(dir, func(p string, d fs.DirEntry, err error) error {
		if err != nil || p == dir {
			return err
		}
		rel, err := filepath.Rel(dir, p)
		if err != nil {
			return err
		}
		if d.IsDir() {
			all[rel] = "folder"
			return nil
		}
		data, err := os.ReadFile(p)
		all[rel] = string(data)
		return err
	}))
	return all
}

func put(t *testing.T, dir, name, text string) string {
	t.Helper()
	p := filepath.Join(dir, name)
	require.NoError(t, os.WriteFile(p, []byte(text), 0o644))
	return p
}

func TestWriteMakesTheFolder(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "a", "b")
	require.NoError(t, Write(dir, twoFiles, Options{}))
	got := contents(t, dir)
	assert.Len(t, got, 3)
	assert.Equal(t, "one\n", got["summary.txt"])
	assert.Equal(t, "<svg/>", got["map.svg"])
	// checksums of the two texts from sha256sum of GNU coreutils
	assert.Equal(t, "d4dc56669143034f31aa309635d4113d9ad76a02b1739da22c965ed2049be9e6  map.svg\n"+
		"2c8b08da5ce60398e1f19af0e5dccc744df274b826abe585eaba68c525434806  summary.txt\n", got[ListName])
}

func TestWriteAgain(t *testing.T) {
	dir := t.TempDir()
	require.NoError(t, Write(dir, twoFiles, Options{}))
	put(t, dir, "mine.txt", "keep")
	require.NoError(t, Write(dir, []File{{"summary.txt", []byte("two\n")}}, Options{}))
	got := contents(t, dir)
	assert.Equal(t, "two\n", got["summary.txt"])
	assert.Equal(t, "<svg/>", got["map.svg"], "an output of before stays")
	assert.Equal(t, "keep", got["mine.txt"])
	assert.Contains(t, got[ListName], "map.svg", "and is still known")
	require.NoError(t, Write(dir, twoFiles, Options{}))
	assert.Len(t, contents(t, dir), 4)
}

func TestWriteRefuses(t *testing.T) {
	for _, c := range []struct {
		name, want string
		prepare    func(t *testing.T, dir string) (files []File, opt Options)
		forced     bool // --force goes through
	}{
		{"file of another", "summary.txt in", func(t *testing.T, dir string) ([]File, Options) {
			put(t, dir, "summary.txt", "mine")
			return twoFiles, Options{}
		}, true},
		{"file changed by hand", "changed since", func(t *testing.T, dir string) ([]File, Options) {
			require.NoError(t, Write(dir, twoFiles, Options{}))
			put(t, dir, "map.svg", "<svg>mine</svg>")
			return twoFiles, Options{}
		}, true},
		{"link of another", "map.svg in", func(t *testing.T, dir string) ([]File, Options) {
			require.NoError(t, os.Symlink(put(t, dir, "real.svg", "x"), filepath.Join(dir, "map.svg")))
			return twoFiles, Options{}
		}, true},
		{"list of another", "not as hemrow wrote it", func(t *testing.T, dir string) ([]File, Options) {
			put(t, dir, ListName, "something else\n")
			return twoFiles, Options{}
		}, true},
		{"folder in the way", "is a folder", func(t *testing.T, dir string) ([]File, Options) {
			require.NoError(t, os.Mkdir(filepath.Join(dir, "map.svg"), 0o755))
			return twoFiles, Options{}
		}, false},
		{"input", "from which it is made", func(t *testing.T, dir string) ([]File, Options) {
			return twoFiles, Options{Protect: []string{put(t, dir, "map.svg", "in")}}
		}, false},
		{"input behind a link", "from which it is made", func(t *testing.T, dir string) ([]File, Options) {
			in := put(t, t.TempDir(), "input.geojson", "in")
			require.NoError(t, os.Symlink(in, filepath.Join(dir, "map.svg")))
			return twoFiles, Options{Protect: []string{in}}
		}, false},
		{"input by another name", "from which it is made", func(t *testing.T, dir string) ([]File, Options) {
			in := put(t, dir, "map.svg", "in")
			require.NoError(t, os.Link(in, filepath.Join(dir, "also.svg")))
			return twoFiles, Options{Protect: []string{filepath.Join(dir, "also.svg")}}
		}, false},
		{"input that is a link here", "from which it is made", func(t *testing.T, dir string) ([]File, Options) {
			link := filepath.Join(t.TempDir(), "plan.yaml")
			require.NoError(t, os.Symlink(put(t, dir, "summary.txt", "in"), link))
			return twoFiles, Options{Protect: []string{link}}
		}, false},
		{"input by a winding path", "from which it is made", func(t *testing.T, dir string) ([]File, Options) {
			put(t, dir, "map.svg", "in")
			return twoFiles, Options{Protect: []string{filepath.Join(dir, "..", filepath.Base(dir), "map.svg")}}
		}, false},
	} {
		t.Run(c.name, func(t *testing.T) {
			dir := t.TempDir()
			files, opt := c.prepare(t, dir)
			before := contents(t, dir)
			assert.ErrorContains(t, Write(dir, files, opt), c.want)
			assert.Equal(t, before, contents(t, dir), "nothing changed")
			opt.Force = true
			err := Write(dir, files, opt)
			if !c.forced {
				assert.ErrorContains(t, err, c.want)
				assert.Equal(t, before, contents(t, dir), "nothing changed")
				return
			}
			require.NoError(t, err)
			assert.Equal(t, "<svg/>", contents(t, dir)["map.svg"])
			require.NoError(t, Write(dir, files, Options{}), "from now on it is ours")
		})
	}
}

func TestForceOverALinkLeavesWhatItPointsTo(t *testing.T) {
	dir := t.TempDir()
	real := put(t, t.TempDir(), "real.svg", "precious")
	require.NoError(t, os.Symlink(real, filepath.Join(dir, "map.svg")))
	require.NoError(t, Write(dir, twoFiles, Options{Force: true}))
	data, err := os.ReadFile(real)
	require.NoError(t, err)
	assert.Equal(t, "precious", string(data))
}

func TestFolderThatIsAFile(t *testing.T) {
	dir := t.TempDir()
	p := put(t, dir, "out", "a file")
	assert.ErrorContains(t, Write(p, twoFiles, Options{Force: true}), "is a file, not a folder")
	assert.Error(t, Write(filepath.Join(p, "deeper", "still"), twoFiles, Options{}))
	assert.Equal(t, map[string]string{"out": "a file"}, contents(t, dir))
	assert.ErrorContains(t, Write("", twoFiles, Options{}), "no name")
}

// A folder one may not write to. The superuser may write anywhere, and then
// the write must be whole.
func TestFolderReadOnly(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "locked")
	require.NoError(t, os.Mkdir(dir, 0o555))
	t.Cleanup(func() { assert.NoError(t, os.Chmod(dir, 0o755)) })
	probe := os.WriteFile(filepath.Join(dir, "probe"), nil, 0o644)
	err := Write(dir, twoFiles, Options{})
	if probe == nil {
		require.NoError(t, err)
		assert.Len(t, contents(t, dir), 4)
		return
	}
	assert.ErrorContains(t, err, "cannot write into")
	assert.Empty(t, contents(t, dir))
}

// Whichever step fails, the folder is as it was.
func TestFailureLeavesNothing(t *testing.T) {
	broken := &os.LinkError{Op: "rename", Old: "a", New: "b", Err: errors.New("disk is full")}
	for _, before := range []string{"new folder", "folder of ours", "folder with a file of another"} {
		for step := 1; ; step++ {
			dir := filepath.Join(t.TempDir(), "x", "out")
			opt := Options{}
			switch before {
			case "folder of ours":
				require.NoError(t, Write(dir, twoFiles, opt))
			case "folder with a file of another":
				require.NoError(t, os.MkdirAll(dir, 0o755))
				put(t, dir, "map.svg", "mine")
				opt.Force = true
			}
			n := 0
			fail := func() bool { n++; return n == step }
			d := disk{
				rename: func(from, to string) error {
					if fail() {
						return broken
					}
					return os.Rename(from, to)
				},
				write: func(name string, data []byte) error {
					if fail() {
						// half of it reached the disk
						return errors.Join(os.WriteFile(name, data[:len(data)/2], 0o644), broken)
					}
					return writeSynced(name, data)
				},
			}
			_, statErr := os.Stat(dir)
			var was map[string]string
			if statErr == nil {
				was = contents(t, dir)
			}
			next := []File{{"summary.txt", []byte("two\n")}, {"map.svg", []byte("<svg>2</svg>")}}
			err := d.save(dir, next, opt)
			if n < step { // no such step: all went well
				require.NoError(t, err)
				require.Greater(t, step, 6)
				break
			}
			require.ErrorContains(t, err, "disk is full", "%s, step %d", before, step)
			if statErr != nil {
				assert.NoDirExists(t, filepath.Dir(dir), "%s, step %d", before, step)
				continue
			}
			assert.Equal(t, was, contents(t, dir), "%s, step %d", before, step)
		}
	}
}

// When even putting back fails, the old file is kept and named.
func TestOldFileIsNeverLost(t *testing.T) {
	dir := t.TempDir()
	require.NoError(t, Write(dir, twoFiles, Options{}))
	n := 0
	d := disk{write: writeSynced, rename: func(from, to string) error {
		if n++; n > 1 {
			return errors.New("gone read-only")
		}
		return os.Rename(from, to)
	}}
	err := d.save(dir, []File{{"map.svg", []byte("new")}}, Options{})
	require.ErrorContains(t, err, "the old map.svg could not be put back and is in .hemrow-new-")
	var kept bool
	for _, text := range contents(t, dir) {
		kept = kept || text == "<svg/>"
	}
	assert.True(t, kept)
}

func TestNames(t *testing.T) {
	for _, name := range []string{
		"", ".", "..", "a/b", `a\b`, "a:b", "C:", "what?", "a*", "<a>", `"a"`, "a|b", "tab\t", "end.", "end ", "nul", "NUL.txt",
		"com1.csv", "Lpt9", ListName, ".HEMROW-MADE", ".hemrow-new-1", "a~old", "line\n",
	} {
		dir := t.TempDir()
		assert.Error(t, Write(dir, []File{{Name: name}}, Options{Force: true}), "%q", name)
		assert.Empty(t, contents(t, dir), "%q", name)
	}
	assert.ErrorContains(t, Write(t.TempDir(), []File{{Name: "A.txt"}, {Name: "a.TXT"}}, Options{}), "two output files")
	require.NoError(t, Write(t.TempDir(), []File{{Name: "rows north (2).csv"}, {Name: "común.txt"}, {Name: "com10.txt"}}, Options{}))
	dir := filepath.Join(t.TempDir(), "empty")
	require.NoError(t, Write(dir, nil, Options{}))
	assert.Equal(t, map[string]string{ListName: ""}, contents(t, dir))
}

func FuzzList(f *testing.F) {
	f.Add(strings.Repeat("0", 64) + "  map.svg\n")
	f.Add("")
	f.Add("x  y")
	f.Fuzz(func(t *testing.T, text string) {
		list, ok := parseList(text)
		if !ok {
			return
		}
		for name, hash := range list {
			require.Len(t, hash, 64)
			require.NotEmpty(t, name)
		}
	})
}

func ExampleWrite() {
	dir, err := os.MkdirTemp("", "hemrow-example-*")
	if err != nil {
		panic(err)
	}
	defer os.RemoveAll(dir)
	out := filepath.Join(dir, "kestrel-rise-plan")
	fmt.Println(Write(out, []File{{"summary.txt", []byte("58 rows\n")}}, Options{}))
	list, err := os.ReadFile(filepath.Join(out, ListName))
	fmt.Println(strings.HasSuffix(string(list), "  summary.txt\n"), err)
	// Output:
	// <nil>
	// true <nil>
}
