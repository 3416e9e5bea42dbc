package main

import (
	"bytes"
	"flag"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

var update = flag.Bool("update", false, "rewrite golden files and the README's example")

// The golden files are what demo writes: the README shows them. Rewrite them
// with -update and read the diff.
func TestGoldenDemo(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "demo")
	code, _, errw := call(t, "", "demo", "--out", dir)
	require.Equal(t, 0, code, errw)
	golden := filepath.Join("..", "..", "testdata", "golden")
	for _, name := range []string{"map.svg", "summary.txt", "take-off.csv"} {
		got, err := os.ReadFile(filepath.Join(dir, name))
		require.NoError(t, err)
		path := filepath.Join(golden, name)
		if *update {
			require.NoError(t, os.MkdirAll(golden, 0o755))
			require.NoError(t, os.WriteFile(path, got, 0o644))
		}
		want, err := os.ReadFile(path)
		require.NoError(t, err)
		assert.Equal(t, string(want), string(got), name)
	}
}

// The README's example is the first part of the golden summary.
func TestReadmeShowsTheDemo(t *testing.T) {
	summary, err := os.ReadFile(filepath.Join("..", "..", "testdata", "golden", "summary.txt"))
	require.NoError(t, err)
	shown := "```text\n" + string(firstLines(summary, 44)) + "…\n```\n"
	path := filepath.Join("..", "..", "README.md")
	readme, err := os.ReadFile(path)
	require.NoError(t, err)
	begin, end := []byte("<!-- demo begins -->\n"), []byte("<!-- demo ends -->")
	head, rest, ok := bytes.Cut(readme, begin)
	require.True(t, ok)
	_, tail, ok := bytes.Cut(rest, end)
	require.True(t, ok)
	want := strings.Join([]string{string(head), string(begin), shown, string(end), string(tail)}, "")
	if *update {
		require.NoError(t, os.WriteFile(path, []byte(want), 0o644))
	}
	assert.Equal(t, want, string(readme), "run with -update")
}

func firstLines(text []byte, n int) []byte {
	lines := bytes.SplitAfter(text, []byte("\n"))
	return bytes.Join(lines[:min(n, len(lines))], nil)
}
