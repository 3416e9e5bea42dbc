package main

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// call runs the program in-process.
func call(t *testing.T, stdin string, args ...string) (code int, stdout, stderr string) {
	t.Helper()
	var out, errw bytes.Buffer
	code = run(context.Background(), args, strings.NewReader(stdin), &out, &errw)
	return code, out.String(), errw.String()
}

// square is a field of about 110 by 76 m near 47 N.
const square = `{"type":"Feature","id":"sq","properties":{"name":"Square"},"geometry":{"type":"Polygon","coordinates":[[[-18.4,47.2],[-18.399,47.2],[-18.399,47.201],[-18.4,47.201],[-18.4,47.2]]]}}`

const bowTie = `{"type":"Feature","properties":{"name":"Bow"},"geometry":{"type":"Polygon","coordinates":[[[-18.4,47.2],[-18.399,47.201],[-18.399,47.2],[-18.4,47.201],[-18.4,47.2]]]}}`

func write(t *testing.T, dir, name, text string) string {
	t.Helper()
	p := filepath.Join(dir, name)
	require.NoError(t, os.WriteFile(p, []byte(text), 0o644))
	return p
}

func TestDemo(t *testing.T) {
	dir := t.TempDir()
	one, two := filepath.Join(dir, "one"), filepath.Join(dir, "two")
	code, out, errw := call(t, "", "demo", "--out", one)
	require.Equal(t, 0, code, errw)
	assert.Empty(t, errw)
	assert.Contains(t, out, "Kestrel Rise")
	code, _, _ = call(t, "", "demo", "--out", two)
	require.Equal(t, 0, code)
	files, err := os.ReadDir(one)
	require.NoError(t, err)
	var names []string
	for _, f := range files {
		names = append(names, f.Name())
		a, err := os.ReadFile(filepath.Join(one, f.Name()))
		require.NoError(t, err)
		b, err := os.ReadFile(filepath.Join(two, f.Name()))
		require.NoError(t, err)
		assert.Equal(t, a, b, "%s: same input, same bytes", f.Name())
	}
	for _, want := range []string{"hemrow.json", "hemrow.schema.json", "map.svg", "rows.csv", "rows.geojson", "summary.txt", "take-off.csv"} {
		assert.Contains(t, names, want)
	}
	code, _, errw = call(t, "", "demo", "--out", one)
	assert.Equal(t, 0, code, "its own files are overwritten: %s", errw)
}

func TestPlanFromFlags(t *testing.T) {
	dir := t.TempDir()
	f := write(t, dir, "square.geojson", square)
	out := filepath.Join(dir, "out")
	code, text, errw := call(t, "", "plan", f, "--spacing", "5m", "--heading", "90 deg", "--headland", "16 ft", "--out", out)
	require.Equal(t, 0, code, errw)
	assert.Contains(t, text, "Square")
	b, err := os.ReadFile(filepath.Join(out, "hemrow.json"))
	require.NoError(t, err)
	assert.Contains(t, string(b), `4.8768 m`, "the document echoes the plan in SI")
	assert.NotContains(t, string(b), dir, "and no path of the machine")
}

func TestStarterThenPlan(t *testing.T) {
	dir := t.TempDir()
	f := write(t, dir, "square.geojson", square)
	for _, units := range []string{"metric", "us"} {
		p := filepath.Join(dir, units+".yaml")
		code, _, errw := call(t, "", "starter", f, "--units", units, "--out", p)
		require.Equal(t, 0, code, errw)
		code, out, errw := call(t, "", "plan", p, "--out", filepath.Join(dir, units))
		require.Equal(t, 0, code, errw)
		if units == "us" {
			assert.Contains(t, out, " ft")
			assert.Contains(t, out, "ac")
		}
	}
	code, _, errw := call(t, "", "starter", f, "--out", filepath.Join(dir, "us.yaml"))
	assert.Equal(t, 1, code)
	assert.Contains(t, errw, "--force")
	code, out, _ := call(t, "", "starter", f, "--out", "-")
	assert.Equal(t, 0, code)
	assert.Contains(t, out, "hemrow_plan: 1")
}

func TestRefusals(t *testing.T) {
	dir := t.TempDir()
	sq := write(t, dir, "square.geojson", square)
	bow := write(t, dir, "bow.geojson", bowTie)
	metres := write(t, dir, "metres.geojson", strings.NewReplacer("-18.4,47.2]", "534243.1,5199706.0]", "-18.399", "534343.1").Replace(square))
	badPlan := write(t, dir, "bad.yaml", "hemrow_plan: 1\nfield:\n  outline: square.geojson\nrows:\n  spacing: 5\n  headlnd: 3 m\n")
	goodPlan := write(t, dir, "good.yaml", "hemrow_plan: 1\nfield:\n  outline: square.geojson\nrows:\n  spacing: 5 m\n")
	edgePlan := write(t, dir, "edge.yaml", "hemrow_plan: 1\nfield:\n  outline: square.geojson\nrows:\n  spacing: 5 m\n  heading: along edge 9\n")
	mine := filepath.Join(dir, "mine")
	require.NoError(t, os.Mkdir(mine, 0o755))
	write(t, mine, "rows.csv", "my own\n")
	for _, c := range []struct {
		name string
		args []string
		code int
		say  []string
	}{
		{"no such command", []string{"plough"}, 2, []string{"plough"}},
		{"no argument", []string{"plan"}, 2, []string{"takes one plan file or outline"}},
		{"unknown flag", []string{"plan", sq, "--colour", "red"}, 2, []string{"--colour"}},
		{"flag without unit", []string{"plan", sq, "--spacing", "5"}, 2, []string{"--spacing", "unit"}},
		{"no such file", []string{"plan", filepath.Join(dir, "none.geojson")}, 3, []string{"none.geojson", "no such file"}},
		{"bow-tie", []string{"plan", bow}, 3, []string{"Bow", "vertex", "cross"}},
		{"metres", []string{"plan", metres}, 3, []string{"534", "longitude"}},
		{"plan faults at once", []string{"plan", badPlan}, 3, []string{"bad.yaml:5:12", "bad.yaml:6:3", "headland"}},
		{"somebody's file", []string{"plan", goodPlan, "--out", mine}, 1, []string{"rows.csv", "--force"}},
		{"standard output", []string{"plan", sq, "--out", "-"}, 2, []string{"folder"}},
		{"edge there is none", []string{"plan", goodPlan, "--heading", "along edge 9"}, 3, []string{"--heading", "edges 1 to 4"}},
		{"edge of the plan", []string{"plan", edgePlan}, 3, []string{"edge.yaml:6:12", "edges 1 to 4"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			args := c.args
			if args[0] == "plan" && !strings.Contains(strings.Join(args, " "), "--out") {
				args = append(args, "--out", filepath.Join(dir, "never"))
			}
			code, out, errw := call(t, "", args...)
			assert.Equal(t, c.code, code, errw)
			assert.Empty(t, out)
			for _, s := range c.say {
				assert.Contains(t, errw, s)
			}
			for _, line := range strings.Split(strings.TrimSpace(errw), "\n") {
				assert.Regexp(t, `^(hemrow|hint): `, line)
			}
			assert.NoFileExists(t, filepath.Join(dir, "never", "hemrow.json"), "a failing command leaves no output")
		})
	}
	b, err := os.ReadFile(filepath.Join(mine, "rows.csv"))
	require.NoError(t, err)
	assert.Equal(t, "my own\n", string(b))
	files, _ := os.ReadDir(mine)
	assert.Len(t, files, 1, "nothing else was left there")
}

func TestErrorsAsJSON(t *testing.T) {
	dir := t.TempDir()
	code, _, errw := call(t, "", "check", "--json", write(t, dir, "bow.geojson", bowTie))
	assert.Equal(t, 3, code)
	var doc struct {
		Errors   []faultJSON `json:"errors"`
		ExitCode int         `json:"exit_code"`
	}
	require.NoError(t, json.Unmarshal([]byte(errw), &doc), errw)
	require.NotEmpty(t, doc.Errors)
	assert.Equal(t, 3, doc.ExitCode)
	assert.Equal(t, 1, doc.Errors[0].Feature)
	assert.NotZero(t, doc.Errors[0].Vertex)
	assert.NotNil(t, doc.Errors[0].LonDeg)
}

func TestCheck(t *testing.T) {
	dir := t.TempDir()
	code, out, errw := call(t, "", "check", write(t, dir, "square.geojson", square))
	require.Equal(t, 0, code, errw)
	// Planimeter (GeographicLib 2.1.2): 8423.8 m2, 373.891526 m
	assert.Contains(t, out, "0.8424 ha")
	assert.Contains(t, out, "373.9 m around")
	assert.Contains(t, out, "no fault")
	// GeodSolve (GeographicLib 2.1.2): 111.175 m due north
	assert.Contains(t, out, "edge 2: 111.2 m, heading 0.00 deg")
	code, out, _ = call(t, square, "check", "-")
	assert.Equal(t, 0, code)
	assert.Contains(t, out, "standard input")
}

// untouched is a reader that must not be read.
type untouched struct {
	t *testing.T
	io.Reader
}

func (u untouched) Read([]byte) (int, error) {
	u.t.Error("standard input was read")
	return 0, io.EOF
}

func TestBatch(t *testing.T) {
	dir := t.TempDir()
	var lines []string
	for i := range 200 {
		switch {
		case i == 7:
			lines = append(lines, bowTie)
		case i == 11:
			lines = append(lines, `{"type":"Feature","properties":{},"geometry":{"type":"Polygon","coordinates":[[[1,`)
		default:
			lines = append(lines, strings.Replace(square, `"sq"`, fmt.Sprintf(`"f%d"`, i), 1))
		}
	}
	in := write(t, dir, "in.ndjson", strings.Join(lines, "\n")+"\n")
	args := []string{"batch", in, "--heading", "along longest edge", "--first-row", "3 m"}
	var first string
	for _, workers := range []string{"1", "4"} {
		code, out, errw := call(t, "", append(args, "--workers", workers)...)
		require.Equal(t, 0, code, errw)
		got := strings.Split(strings.TrimSpace(out), "\n")
		require.Len(t, got, 200, "one line for each field")
		for i, line := range got {
			var f struct {
				ID         string
				Geometry   json.RawMessage
				Properties map[string]any
			}
			require.NoError(t, json.Unmarshal([]byte(line), &f), line)
			if i == 7 || i == 11 {
				assert.NotEmpty(t, f.Properties["error"])
				assert.Equal(t, "null", string(f.Geometry))
				continue
			}
			assert.Equal(t, fmt.Sprintf("f%d", i), f.ID, "in the order of the input")
			assert.Greater(t, f.Properties["rows"], 5.0)
		}
		if first == "" {
			first = out
		}
		assert.Equal(t, first, out, "whatever the number of workers")
	}

	code, out, errw := call(t, "", append(args, "--totals")...)
	require.Equal(t, 0, code, errw)
	var tot map[string]float64
	require.NoError(t, json.Unmarshal([]byte(out), &tot))
	assert.Equal(t, 200.0, tot["fields"])
	assert.Equal(t, 2.0, tot["failed"])
	assert.Positive(t, tot["length_m"])
	assert.Positive(t, tot["seconds"])
	assert.Len(t, tot, 6)

	code, out, _ = call(t, strings.Join(lines[:3], "\n"), "batch", "-", "--as", "collection", "--heading", "90 deg")
	require.Equal(t, 0, code)
	var fc struct{ Features []json.RawMessage }
	require.NoError(t, json.Unmarshal([]byte(out), &fc))
	assert.Len(t, fc.Features, 3)
	code, out, _ = call(t, out, "batch", "-", "--as", "sequence", "--heading", "90 deg")
	require.Equal(t, 0, code, "the output is no outline, which each line says")
	assert.Equal(t, 3, strings.Count(out, "\x1e"))
	assert.Equal(t, 3, strings.Count(out, `"error"`))

	file := filepath.Join(dir, "out.ndjson")
	code, _, errw = call(t, "", append(args, "--out", file)...)
	require.Equal(t, 0, code, errw)
	code, _, _ = call(t, "", append(args, "--out", file)...)
	assert.Equal(t, 1, code, "an existing file is kept")
	code, _, _ = call(t, "", append(args, "--out", file, "--as", "xml")...)
	assert.Equal(t, 2, code)
	code, _, _ = call(t, "", append(args, "--out", "-", "--totals")...)
	assert.Equal(t, 2, code)

	var bout, berr bytes.Buffer
	require.Equal(t, 0, run(context.Background(), []string{"batch", in, "--heading", "90 deg", "--totals"}, untouched{t: t}, &bout, &berr))

	code, out, _ = call(t, strings.Replace(square, `{"name"`, `{"rows":"many","name"`, 1), "batch", "-", "--heading", "90 deg", "--keep", "rows,name")
	assert.Equal(t, 0, code)
	assert.Equal(t, 1, strings.Count(out, `"rows":`), "no property stands twice")
	assert.Equal(t, 1, strings.Count(out, `"name":`))

	code, out, _ = call(t, strings.Replace(square, `"sq"`, `77`, 1), "batch", "-", "--heading", "90 deg")
	assert.Equal(t, 0, code)
	assert.Contains(t, out, `"id":77,`, "a number stays one")

	code, out, _ = call(t, "", "batch", write(t, dir, "empty.ndjson", ""), "--totals")
	assert.Equal(t, 0, code)
	assert.Contains(t, out, `"fields":0`)

	code, out, _ = call(t, strings.Replace(square, `{"name"`, `{"crop":"hazel","id":17,"name"`, 1), "batch", "-", "--heading", "90 deg", "--keep", "crop,id")
	assert.Equal(t, 0, code)
	assert.Contains(t, out, `"crop":"hazel","id":17,"name":"Square"`)
}

// An output never replaces an input, not even with --force, by any path.
func TestOutputsAreNotInputs(t *testing.T) {
	dir := t.TempDir()
	in := write(t, dir, "in.ndjson", square+"\n")
	base := write(t, dir, "base.yaml", "hemrow_plan: 1\n")
	link := filepath.Join(dir, "link.yaml")
	require.NoError(t, os.Symlink(in, link))
	for _, args := range [][]string{
		{"batch", in, "--out", in, "--force"},
		{"batch", in, "--base", base, "--out", base, "--force"},
		{"starter", in, "--out", in, "--force"},
		{"starter", in, "--out", link, "--force"},
	} {
		code, _, errw := call(t, "", args...)
		assert.Equal(t, 1, code, "%v", args)
		assert.Contains(t, errw, "input of this run")
	}
	b, _ := os.ReadFile(in)
	assert.Equal(t, square+"\n", string(b))
	b, _ = os.ReadFile(base)
	assert.Equal(t, "hemrow_plan: 1\n", string(b))
}

// Keys that mean nothing for a stream of fields are no flags of batch.
func TestBatchTakesNoIdleKeys(t *testing.T) {
	dir := t.TempDir()
	in := write(t, dir, "in.ndjson", square+"\n")
	for _, flag := range []string{"--obstacles", "--choose", "--film-width", "--outline"} {
		code, _, _ := call(t, "", "batch", in, flag, "x")
		assert.Equal(t, 2, code, flag)
	}
	base := write(t, dir, "base.yaml", "hemrow_plan: 1\nfield:\n  obstacles: [pond.geojson]\n")
	code, _, errw := call(t, "", "batch", in, "--base", base)
	assert.Equal(t, 3, code)
	assert.Contains(t, errw, "obstacles")
	code, _, _ = call(t, "", "batch", in, "--base", in)
	assert.Equal(t, 2, code)
}

// Text from files does not steer the terminal.
func TestTerminalIsSafe(t *testing.T) {
	dir := t.TempDir()
	name := write(t, dir, "a\x1b[31mb.geojson", strings.Replace(square, "Square", "Sq\\u001b[2J\\u202euare", 1))
	for _, args := range [][]string{{"check", name}, {"plan", name, "--out", filepath.Join(dir, "o\x1b[0m")}, {"starter", name, "--out", filepath.Join(dir, "s\x1b.yaml")}} {
		code, out, errw := call(t, "", args...)
		assert.Equal(t, 0, code, errw)
		assert.NotContains(t, out+errw, "\x1b", "%v", args)
		assert.NotContains(t, out+errw, "\u202e", "%v", args)
	}
}

func TestBoundedReading(t *testing.T) {
	if _, err := os.Stat("/dev/zero"); err == nil {
		for _, args := range [][]string{{"check", "/dev/zero"}, {"plan", "/dev/zero"}, {"starter", "/dev/zero"}} {
			code, _, errw := call(t, "", args...)
			assert.Equal(t, 3, code, "%v", args)
			assert.Contains(t, errw, "no regular file")
		}
	}
	dir := t.TempDir()
	big := write(t, dir, "big.yaml", strings.Repeat("# \n", 1<<19))
	code, _, errw := call(t, "", "plan", big)
	assert.Equal(t, 3, code)
	assert.Contains(t, errw, "bytes")
}

// Reading standard input ends when the run is interrupted.
func TestInterruptedReading(t *testing.T) {
	silent, w := io.Pipe()
	defer w.Close()
	for _, args := range [][]string{{"check", "-"}, {"batch", "-"}} {
		ctx, cancel := context.WithCancel(context.Background())
		done := make(chan int)
		go func() {
			var out, errw bytes.Buffer
			done <- run(ctx, args, silent, &out, &errw)
		}()
		cancel()
		assert.Equal(t, 130, <-done, "%v", args)
	}
}

func TestSwitchesStandAlone(t *testing.T) {
	dir := t.TempDir()
	f := write(t, dir, "square.geojson", square)
	code, _, errw := call(t, "", "plan", "--strict", f, "--out", filepath.Join(dir, "o"))
	assert.Equal(t, 0, code, errw)
	code, _, errw = call(t, "", "plan", f, "--nosuch", "--json")
	assert.Equal(t, 2, code)
	assert.True(t, json.Valid([]byte(errw)), errw)
}

func TestSchemasAndHelp(t *testing.T) {
	for _, s := range []string{"plan", "result"} {
		code, out, _ := call(t, "", "schema", s)
		assert.Equal(t, 0, code)
		assert.True(t, json.Valid([]byte(out)))
	}
	for _, c := range []string{"demo", "check", "plan", "starter", "batch", "schema"} {
		code, out, _ := call(t, "", c, "--help")
		assert.Equal(t, 0, code)
		assert.Contains(t, out, "Exit codes", c)
	}
	code, out, _ := call(t, "", "completion", "bash")
	assert.Equal(t, 0, code)
	assert.Contains(t, out, "hemrow")
}

func TestInterrupted(t *testing.T) {
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	var out, errw bytes.Buffer
	code := run(ctx, []string{"demo", "--out", filepath.Join(t.TempDir(), "x")}, strings.NewReader(""), &out, &errw)
	assert.Equal(t, 130, code)
}
