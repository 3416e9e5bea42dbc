package main

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"strings"
	"unicode"

	"golang.org/x/term"

	"hemrow/geo"
)

// Exit codes, as every command's help prints them.
const (
	exitOK          = 0
	exitFailed      = 1
	exitUsage       = 2
	exitRefused     = 3
	exitInterrupted = 130
)

const exitHelp = `
Exit codes: 0 done, 1 failed, 2 wrong usage, 3 input or plan refused,
130 interrupted.`

// usageError is a mistake on the command line.
type usageError struct{ err error }

func (e *usageError) Error() string { return e.err.Error() }
func (e *usageError) Unwrap() error { return e.err }

// refusal is input or a plan that cannot be used.
type refusal struct{ err error }

func (e *refusal) Error() string { return e.err.Error() }
func (e *refusal) Unwrap() error { return e.err }

// exitCode maps an error to the exit code of the command.
func exitCode(err error) int {
	var u *usageError
	var r *refusal
	var in *geo.InputError
	switch {
	case err == nil:
		return exitOK
	case errors.Is(err, context.Canceled):
		return exitInterrupted
	case errors.As(err, &u):
		return exitUsage
	case errors.As(err, &r), errors.As(err, &in):
		return exitRefused
	}
	return exitFailed
}

// flatten lists the leaves of joined errors in order.
func flatten(err error) []error {
	if err == nil {
		return nil
	}
	if m, ok := err.(interface{ Unwrap() []error }); ok {
		var out []error
		for _, e := range m.Unwrap() {
			out = append(out, flatten(e)...)
		}
		return out
	}
	if e, ok := err.(*refusal); ok {
		return flatten(e.err)
	}
	if e, ok := err.(*usageError); ok {
		return flatten(e.err)
	}
	return []error{err}
}

// faultJSON is one error for machines.
type faultJSON struct {
	Problem string   `json:"problem"`
	Hint    string   `json:"hint,omitempty"`
	File    string   `json:"file,omitempty"`
	Line    int      `json:"line,omitempty"`
	Feature int      `json:"feature,omitempty"`
	Name    string   `json:"name,omitempty"`
	Part    int      `json:"part,omitempty"`
	Hole    int      `json:"hole,omitempty"`
	Vertex  int      `json:"vertex,omitempty"`
	LonDeg  *float64 `json:"lon_deg,omitempty"`
	LatDeg  *float64 `json:"lat_deg,omitempty"`
}

// hinter is an error that knows what to do.
type hinter interface{ HintText() string }

func faultOf(err error) faultJSON {
	var in *geo.InputError
	if errors.As(err, &in) {
		f := faultJSON{
			Problem: in.Problem, Hint: in.Hint, File: in.File, Line: in.Line,
			Feature: in.Feature, Name: in.Name, Part: in.Part, Hole: in.Hole, Vertex: in.Vertex,
		}
		if in.At != nil {
			f.LonDeg, f.LatDeg = &in.At.LonDeg, &in.At.LatDeg
		}
		return f
	}
	f := faultJSON{Problem: err.Error()}
	var h hinter
	if errors.As(err, &h) {
		f.Hint = h.HintText()
	}
	return f
}

// report prints an error for people, or for machines as one JSON object.
func reportError(w io.Writer, err error, asJSON bool) {
	list := flatten(err)
	if errors.Is(err, context.Canceled) {
		list = []error{errors.New("interrupted")}
	}
	if asJSON {
		doc := struct {
			Errors   []faultJSON `json:"errors"`
			ExitCode int         `json:"exit_code"`
		}{ExitCode: exitCode(err)}
		for _, e := range list {
			doc.Errors = append(doc.Errors, faultOf(e))
		}
		b, _ := json.Marshal(doc)
		fmt.Fprintf(w, "%s\n", b)
		return
	}
	for _, e := range list {
		fmt.Fprintf(w, "hemrow: %s\n", oneLine(e.Error()))
		if h := faultOf(e).Hint; h != "" {
			fmt.Fprintf(w, "hint: %s\n", oneLine(h))
		}
	}
}

// oneLine keeps text from a file from drawing on the terminal.
func oneLine(s string) string {
	return strings.Map(func(r rune) rune {
		if r == '\t' {
			return ' '
		}
		if unicode.IsControl(r) || unicode.Is(unicode.Bidi_Control, r) || r == '\u2028' || r == '\u2029' {
			return -1
		}
		return r
	}, strings.ReplaceAll(s, "\n", " "))
}

// terminal is standard error when somebody watches it.
func (a *app) terminal() (f *os.File, ok bool) {
	f, ok = a.err.(*os.File)
	return f, ok && term.IsTerminal(int(f.Fd()))
}

// steps shows the step at hand on a terminal; done clears it.
func (a *app) steps() (step func(string), done func()) {
	f, ok := a.terminal()
	if !ok {
		return nil, func() {}
	}
	const clearLine = "\r\x1b[K"
	return func(name string) { fmt.Fprintf(f, "%s%s …", clearLine, name) }, func() { fmt.Fprint(f, clearLine) }
}
