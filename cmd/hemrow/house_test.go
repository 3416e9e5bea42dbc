package main

import (
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// House tests: the rules that hold the program together, read off its source.

type source struct {
	path string // slashed, from the top of the repository
	file *ast.File
	text []string // lines
	fset *token.FileSet
}

func (s source) pkg() string { return path.Dir(s.path) }

// isTest tells files of tests, and of packages that only tests import.
func (s source) isTest() bool {
	return strings.HasSuffix(s.path, "_test.go") || strings.HasSuffix(s.pkg(), "test")
}

func (s source) line(p token.Pos) string {
	return s.text[s.fset.Position(p).Line-1]
}

func readSources(t *testing.T) []source {
	t.Helper()
	var out []source
	root := filepath.Join("..", "..")
	err := filepath.WalkDir(root, func(p string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		if d.IsDir() && (d.Name() == ".git" || d.Name() == "testdata") {
			return filepath.SkipDir
		}
		if d.IsDir() || !strings.HasSuffix(p, ".go") {
			return nil
		}
		src, err := os.ReadFile(p)
		if err != nil {
			return err
		}
		rel, err := filepath.Rel(root, p)
		if err != nil {
			return err
		}
		fset := token.NewFileSet()
		f, err := parser.ParseFile(fset, p, src, parser.ParseComments)
		if err != nil {
			return err
		}
		out = append(out, source{filepath.ToSlash(rel), f, strings.Split(string(src), "\n"), fset})
		return nil
	})
	require.NoError(t, err)
	require.Greater(t, len(out), 30)
	return out
}

func imports(s source) (list []string) {
	for _, im := range s.file.Imports {
		p, _ := strconv.Unquote(im.Path.Value)
		list = append(list, p)
	}
	return list
}

// geo <- rows <- materials <- cmd, and nobody imports cmd from below.
func TestImportsPointOneWay(t *testing.T) {
	rank := map[string]int{"geo": 0, "rows": 1, "materials": 2, "cmd": 3}
	for _, s := range readSources(t) {
		mine := rank[strings.SplitN(s.path, "/", 2)[0]]
		for _, im := range imports(s) {
			rest, ours := strings.CutPrefix(im, "hemrow/")
			if !ours {
				continue
			}
			top := strings.SplitN(rest, "/", 2)[0]
			r, known := rank[top]
			assert.True(t, known, "%s imports %s, which is no part of the design", s.path, im)
			assert.LessOrEqual(t, r, mine, "%s imports %s", s.path, im)
		}
	}
}

// The readers of the result document know the document and nothing else.
func TestReadersKnowOnlyTheDocument(t *testing.T) {
	allowed := map[string][]string{
		"cmd/hemrow/internal/report": {"hemrow/cmd/hemrow/internal/result", "hemrow/geo", "hemrow/geo/format/geojson"},
		"cmd/hemrow/internal/folder": {},
		"geo/format/geojson":         {"hemrow/geo", "hemrow/geo/format", "hemrow/geo/format/encoded"},
		"geo/format":                 {"hemrow/geo", "hemrow/geo/crs"},
		"geo/format/geotiff":         {"hemrow/geo", "hemrow/geo/crs", "hemrow/geo/format"},
		"geo/format/gpx":             {"hemrow/geo", "hemrow/geo/format", "hemrow/geo/format/markup"},
		"geo/format/kml":             {"hemrow/geo", "hemrow/geo/format", "hemrow/geo/format/markup"},
		"geo/format/points":          {"hemrow/geo", "hemrow/geo/format", "hemrow/geo/format/encoded", "hemrow/geo/format/wkt"},
		"geo/format/shapefile":       {"hemrow/geo", "hemrow/geo/format"},
		"geo/format/taskdata":        {"hemrow/geo", "hemrow/geo/format", "hemrow/geo/format/markup"},
		"geo/format/textgrid":        {"hemrow/geo", "hemrow/geo/format"},
		"geo/format/wkt":             {"hemrow/geo", "hemrow/geo/format", "hemrow/geo/format/encoded"},
		"geo/crs":                    {"hemrow/geo"},
		"geo/polygon":                {"hemrow/geo"},
		"geo/terrain":                {"hemrow/geo", "hemrow/geo/crs", "hemrow/geo/format", "hemrow/geo/polygon"},
	}
	seen := map[string]bool{}
	for _, s := range readSources(t) {
		list, ok := allowed[s.pkg()]
		if !ok || s.isTest() {
			continue
		}
		seen[s.pkg()] = true
		for _, im := range imports(s) {
			if strings.HasPrefix(im, "hemrow/") {
				assert.Contains(t, list, im, s.path)
			}
		}
	}
	assert.Len(t, seen, len(allowed), "every package of the list is there")
}

// Packages that measure on a sphere, drop heights or print must not come in.
func TestImportsThatAreBanned(t *testing.T) {
	banned := []string{"github.com/paulmach/orb/geo", "github.com/paulmach/orb/geojson", "log"}
	for _, s := range readSources(t) {
		for _, im := range imports(s) {
			assert.NotContains(t, banned, im, s.path)
		}
	}
}

// A geo.Field is made in geo/field; elsewhere only tests make one by hand.
func TestFieldsAreMadeInOnePlace(t *testing.T) {
	for _, s := range readSources(t) {
		if s.isTest() || s.pkg() == "geo/field" {
			continue
		}
		ast.Inspect(s.file, func(n ast.Node) bool {
			lit, ok := n.(*ast.CompositeLit)
			if !ok || len(lit.Elts) == 0 {
				return true
			}
			if sel, ok := lit.Type.(*ast.SelectorExpr); ok && sel.Sel.Name == "Field" {
				if x, ok := sel.X.(*ast.Ident); ok && x.Name == "geo" {
					t.Errorf("%s makes a geo.Field: %s", s.path, s.line(lit.Pos()))
				}
			}
			return true
		})
	}
}

// unitOf matches a name that says its unit.
var unitOf = regexp.MustCompile(`(M|M2|M3|MM|Um|Km|Deg|Rad|Pct|Ratio|Factor|Kg|T|KgM|KgM2|KgM3|KgPerM|MS|Pa|KPa|LPH|H|TempC|Minor|Ha|Score|No|Count|Scale)$|^[A-Z]?(lat|lon|u|v|x|y|z|h)$`)

// Exported fields and parameters of type float64 say their unit in their name
// or carry a //unit: comment on their line.
func TestNamesSayTheirUnit(t *testing.T) {
	for _, s := range readSources(t) {
		if s.isTest() {
			continue
		}
		check := func(f *ast.Field) {
			if id, ok := f.Type.(*ast.Ident); !ok || id.Name != "float64" || strings.Contains(s.line(f.Pos()), "//unit:") {
				return
			}
			for _, n := range f.Names {
				assert.Regexp(t, unitOf, n.Name, "%s: %s", s.path, strings.TrimSpace(s.line(f.Pos())))
			}
		}
		for _, d := range s.file.Decls {
			switch d := d.(type) {
			case *ast.GenDecl:
				for _, sp := range d.Specs {
					ts, ok := sp.(*ast.TypeSpec)
					if !ok || !ts.Name.IsExported() {
						continue
					}
					if st, ok := ts.Type.(*ast.StructType); ok {
						for _, f := range st.Fields.List {
							if len(f.Names) > 0 && f.Names[0].IsExported() {
								check(f)
							}
						}
					}
				}
			case *ast.FuncDecl:
				if d.Name.IsExported() {
					for _, f := range d.Type.Params.List {
						if id, ok := f.Type.(*ast.Ident); ok && id.Name == "float64" && !strings.Contains(s.line(d.Pos()), "//unit:") {
							for _, n := range f.Names {
								if len(n.Name) > 2 { // dx, u: the function's own geometry
									assert.Regexp(t, regexp.MustCompile(`(?i)(m|m2|m3|mm|um|deg|rad|pct|ratio|kg|kgm3|ms|factor|ha)$`), n.Name, "%s: %s", s.path, s.line(d.Pos()))
								}
							}
						}
					}
				}
			}
		}
	}
}

// Every note code is named in some test, and Codes lists every constant.
func TestEveryNoteCodeIsTested(t *testing.T) {
	var codes []string
	tested := map[string]bool{}
	listed := map[string]int{}
	for _, s := range readSources(t) {
		if s.path == "geo/codes.go" {
			ast.Inspect(s.file, func(n ast.Node) bool {
				switch n := n.(type) {
				case *ast.ValueSpec:
					codes = append(codes, n.Names[0].Name)
				case *ast.Ident:
					listed[n.Name]++
				}
				return true
			})
		}
		if s.isTest() {
			ast.Inspect(s.file, func(n ast.Node) bool {
				if id, ok := n.(*ast.Ident); ok && strings.HasPrefix(id.Name, "Note") {
					tested[id.Name] = true
				}
				return true
			})
		}
	}
	require.NotEmpty(t, codes)
	for _, c := range codes {
		assert.Equal(t, 2, listed[c], "%s stands in the list once", c)
		assert.True(t, tested[c], "no test raises %s", c)
	}
}

// Small numbers are tolerances and live in geo/tolerance.go with their
// derivation; a named constant with a comment may stand elsewhere.
func TestNoBareTolerances(t *testing.T) {
	for _, s := range readSources(t) {
		if s.isTest() || s.path == "geo/tolerance.go" {
			continue
		}
		inConst := map[token.Pos]bool{}
		ast.Inspect(s.file, func(n ast.Node) bool {
			if d, ok := n.(*ast.GenDecl); ok && d.Tok == token.CONST {
				ast.Inspect(d, func(m ast.Node) bool {
					if m != nil {
						inConst[m.Pos()] = true
					}
					return true
				})
			}
			lit, ok := n.(*ast.BasicLit)
			if !ok || lit.Kind != token.FLOAT || inConst[lit.Pos()] {
				return true
			}
			if v, err := strconv.ParseFloat(lit.Value, 64); err == nil && v != 0 && v < 1e-4 {
				t.Errorf("%s: bare %s: %s", s.path, lit.Value, strings.TrimSpace(s.line(lit.Pos())))
			}
			return true
		})
	}
}

// The overlay library is pinned: the registry's newest is older than it.
func TestOverlayLibraryIsPinned(t *testing.T) {
	mod, err := os.ReadFile(filepath.Join("..", "..", "go.mod"))
	require.NoError(t, err)
	assert.Regexp(t, `(?m)peterstace/simplefeatures v0\.59\.0$`, string(mod))
}

// The top of the repository stays as designed. What .gitignore names there, the
// built program and the demo's folder, is no part of it.
func TestTopLevel(t *testing.T) {
	root := filepath.Join("..", "..")
	ignored, err := os.ReadFile(filepath.Join(root, ".gitignore"))
	require.NoError(t, err)
	allowed := []string{"cmd", "geo", "rows", "materials", "testdata", "go.mod", "go.sum", "README.md", "DEVELOPERS.md", "LICENSE"}
	for _, line := range strings.Fields(string(ignored)) {
		if name, atTop := strings.CutPrefix(line, "/"); atTop {
			allowed = append(allowed, strings.TrimSuffix(name, "/"))
		}
	}
	entries, err := os.ReadDir(root)
	require.NoError(t, err)
	for _, e := range entries {
		if !strings.HasPrefix(e.Name(), ".") && !slices.Contains(allowed, e.Name()) {
			t.Errorf("%s stands at the top of the repository", e.Name())
		}
	}
}
