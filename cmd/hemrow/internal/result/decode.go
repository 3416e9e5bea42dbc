package result

import (
	"bytes"
	_ "embed"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"
)

//go:embed result.schema.json
var schema []byte

// Schema is the JSON Schema (draft 2020-12) of the document. The same text
// lies beside this package as result.schema.json.
func Schema() []byte { return bytes.Clone(schema) }

// Decode reads a document and refuses whatever it would have to guess at:
// another version, an unknown, missing or null field, text behind the end,
// rows that a pass names but the document lacks. Errors name the field.
func Decode(data []byte) (Document, error) {
	if err := checkVersion(data); err != nil {
		return Document{}, err
	}
	var d Document
	dec := json.NewDecoder(bytes.NewReader(data))
	dec.DisallowUnknownFields()
	if err := dec.Decode(&d); err != nil {
		return Document{}, fmt.Errorf("result document: %w", placed(data, dec, err))
	}
	if _, err := dec.Token(); !errors.Is(err, io.EOF) {
		return Document{}, fmt.Errorf("result document: more text behind its end, at byte %d", dec.InputOffset())
	}
	if err := d.check(); err != nil {
		return Document{}, fmt.Errorf("result document: %w", err)
	}
	if err := checkWhole(data, d); err != nil {
		return Document{}, fmt.Errorf("result document: %w", err)
	}
	return d, nil
}

// placed adds the line to a syntax error.
func placed(data []byte, dec *json.Decoder, err error) error {
	at := dec.InputOffset()
	var syn *json.SyntaxError
	var typ *json.UnmarshalTypeError
	switch {
	case errors.As(err, &syn):
		at = syn.Offset
	case errors.As(err, &typ):
		return fmt.Errorf("%s is a JSON %s, which is not allowed there", typ.Field, typ.Value)
	case errors.Is(err, io.EOF), errors.Is(err, io.ErrUnexpectedEOF):
		return errors.New("ends before it is complete")
	}
	line := 1 + bytes.Count(data[:min(max(at, 0), int64(len(data)))], []byte("\n"))
	return fmt.Errorf("line %d: %w", line, err)
}

func checkVersion(data []byte) error {
	var head struct {
		HemrowResult *json.Number `json:"hemrow_result"`
		Generator    struct {
			Version string `json:"version"`
		} `json:"generator"`
	}
	dec := json.NewDecoder(bytes.NewReader(data))
	dec.UseNumber()
	err := dec.Decode(&head)
	var typ *json.UnmarshalTypeError
	if err != nil && !errors.As(err, &typ) {
		return fmt.Errorf("result document: %w", placed(data, dec, err))
	}
	if head.HemrowResult == nil {
		return errors.New("result document: no hemrow_result, so this is no result of hemrow")
	}
	if v := head.HemrowResult.String(); v != fmt.Sprint(Version) {
		by := ""
		if head.Generator.Version != "" {
			by = fmt.Sprintf(" (written by version %q)", head.Generator.Version)
		}
		return fmt.Errorf("result document: version %s%s; this program reads version %d, so plan the field again or use the program that wrote it", v, by, Version)
	}
	return nil
}

// checkWhole compares what was read with what would be written: the standard
// decoder leaves a missing or null field at zero without a word.
func checkWhole(data []byte, d Document) error {
	again, err := json.Marshal(d)
	if err != nil {
		return err
	}
	var got, want any
	if err := json.Unmarshal(data, &got); err != nil {
		return err
	}
	if err := json.Unmarshal(again, &want); err != nil {
		return err
	}
	if place, what := differ(got, want); what != "" {
		return fmt.Errorf("%s %s", strings.TrimPrefix(place, "."), what)
	}
	return nil
}

// differ finds the first difference between JSON as read and as written.
func differ(got, want any) (place, what string) {
	switch w := want.(type) {
	case map[string]any:
		g, ok := got.(map[string]any)
		if !ok {
			return "", "is null or of another kind"
		}
		for _, k := range sortedKeys(w) {
			v, there := g[k]
			if !there {
				return "." + k, "is missing"
			}
			if v == nil && !slices.Contains(nullable(), k) {
				return "." + k, "is null"
			}
			if place, what := differ(v, w[k]); what != "" {
				return "." + k + place, what
			}
		}
		if len(g) != len(w) { // a key that differs from ours in upper case only
			return "", "has a field twice"
		}
	case []any:
		g, ok := got.([]any)
		if !ok || len(g) != len(w) {
			return "", "is null or of another length"
		}
		for i := range w {
			if place, what := differ(g[i], w[i]); what != "" {
				return fmt.Sprintf("[%d]%s", i, place), what
			}
		}
	default:
		if got != want {
			return "", "is null or cannot be kept as it is"
		}
	}
	return "", ""
}

// nullable are the fields that may be null, for what is not known or not there.
func nullable() []string {
	return []string{"height_m", "working_area_m2", "area", "path", "terrain", "slope", "curved", "repeat", "tightest_m", "asked_m"}
}

func sortedKeys(m map[string]any) []string {
	keys := make([]string, 0, len(m))
	for k := range m {
		keys = append(keys, k)
	}
	slices.Sort(keys)
	return keys
}
