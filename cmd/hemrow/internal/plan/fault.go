package plan

import (
	"cmp"
	"errors"
	"fmt"
	"slices"
)

// Fault is one fault of a plan: in a file with line and column, of a flag, or
// of a key that was given nowhere.
type Fault struct {
	File         string
	Line, Column int    // from 1, 0 unknown; columns count characters
	Flag         string // without dashes in front, "" if it was no flag
	Path         string // key with its section; entries of a list count from 1
	Problem      string // what is wrong, lower case, no full stop
	Hint         string // what is allowed, if that is known
}

// Error is place, key and problem on one line, without the hint:
//
//	plan.yaml:14:12: rows.spacing: "5" has no unit
//	--spacing: "5" has no unit
func (f *Fault) Error() string {
	if f.Flag != "" {
		return "--" + f.Flag + ": " + f.Problem
	}
	s := ""
	if f.File != "" {
		s = f.File
		if f.Line > 0 {
			s += fmt.Sprintf(":%d:%d", f.Line, f.Column)
		}
		s += ": "
	}
	if f.Path != "" {
		s += f.Path + ": "
	}
	return s + f.Problem
}

// HintText is what to do, "" if nothing more is known.
func (f *Fault) HintText() string { return f.Hint }

// mostFaults is how many faults are listed; a file with more is no plan.
const mostFaults = 100

// join sorts faults by their place and joins them; nil for none.
func join(faults []*Fault) error {
	slices.SortStableFunc(faults, func(a, b *Fault) int {
		return cmp.Or(cmp.Compare(a.Line, b.Line), cmp.Compare(a.Column, b.Column))
	})
	var errs []error
	for i, f := range faults {
		if i == mostFaults {
			errs = append(errs, &Fault{File: f.File, Problem: fmt.Sprintf("%d more faults are not listed", len(faults)-i)})
			break
		}
		errs = append(errs, f)
	}
	return errors.Join(errs...)
}

// leaves lists the single errors of joined ones.
func leaves(err error) []error {
	if err == nil {
		return nil
	}
	if m, ok := err.(interface{ Unwrap() []error }); ok {
		var out []error
		for _, e := range m.Unwrap() {
			out = append(out, leaves(e)...)
		}
		return out
	}
	return []error{err}
}
