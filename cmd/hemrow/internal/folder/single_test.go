package folder

import (
	"errors"
	"io"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestWriteOne(t *testing.T) {
	dir := t.TempDir()
	put := func(text string) func(io.Writer) error {
		return func(w io.Writer) error { _, err := io.WriteString(w, text); return err }
	}
	name := filepath.Join(dir, "a.yaml")
	require.NoError(t, WriteOne(name, Options{}, put("one")))
	assert.ErrorContains(t, WriteOne(name, Options{}, put("two")), "--force")
	link := filepath.Join(dir, "link.yaml")
	require.NoError(t, os.Symlink(name, link))
	assert.ErrorContains(t, WriteOne(name, Options{Force: true, Protect: []string{link}}, put("two")), "input")
	assert.ErrorContains(t, WriteOne(dir, Options{Force: true}, put("two")), "no regular file")
	assert.ErrorContains(t, WriteOne(os.DevNull, Options{Force: true}, put("two")), "no regular file")
	assert.Error(t, WriteOne(filepath.Join(dir, "none", "a"), Options{}, put("two")))
	broken := errors.New("broken")
	assert.ErrorIs(t, WriteOne(name, Options{Force: true}, func(io.Writer) error { return broken }), broken)
	b, err := os.ReadFile(name)
	require.NoError(t, err)
	assert.Equal(t, "one", string(b), "a failed write leaves the old file")
	require.NoError(t, WriteOne(name, Options{Force: true}, put("three")))
	b, _ = os.ReadFile(name)
	assert.Equal(t, "three", string(b))
	entries, _ := os.ReadDir(dir)
	assert.Len(t, entries, 2, "nothing temporary is left")
}
