package field_test

import (
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// lastTrap is the highest number of TRAPS.md.
const lastTrap = 60

var (
	trapRow  = regexp.MustCompile(`(?m)^\| (\d+) \| ([^|]+) \| ([^|\n]+) \|$`)
	trapCase = regexp.MustCompile(`(?m)^\s*(?:\{|name: |\{name: )"(\d{1,2}) \S{2}|^func TestTrap(\d+)`)
)

// TRAPS.md has every number once and in order, and every one that is not
// marked as not read is named by a test.
func TestEveryTrapIsTested(t *testing.T) {
	text, err := os.ReadFile(filepath.Join("testdata", "TRAPS.md"))
	require.NoError(t, err)
	tested := testedTraps(t)
	rows := trapRow.FindAllStringSubmatch(string(text), -1)
	require.Len(t, rows, lastTrap)
	for i, row := range rows {
		assert.Equal(t, strconv.Itoa(i+1), row[1], "numbers in order")
		if !strings.HasPrefix(row[3], "not read") {
			assert.NotEmpty(t, tested[row[1]], "no test case begins with %q: %s", row[1]+" ", row[2])
		}
	}
	for no, where := range tested {
		n, _ := strconv.Atoi(no)
		assert.LessOrEqual(t, n, lastTrap, "%s names a trap that is not in the list", where)
	}
}

// testedTraps are the numbers that begin names of test cases, and a file of
// each.
func testedTraps(t *testing.T) map[string]string {
	t.Helper()
	out := map[string]string{}
	for _, folder := range []string{".", filepath.Join("..", "format", "delivery")} {
		files, err := filepath.Glob(filepath.Join(folder, "*_test.go"))
		require.NoError(t, err)
		require.NotEmpty(t, files)
		for _, name := range files {
			text, err := os.ReadFile(name)
			require.NoError(t, err)
			for _, m := range trapCase.FindAllStringSubmatch(string(text), -1) {
				out[m[1]+m[2]] = name
			}
		}
	}
	return out
}
