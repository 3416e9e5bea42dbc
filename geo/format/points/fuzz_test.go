package points_test

import (
	"bytes"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"testing/iotest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hemrow/geo"
	"hemrow/geo/format/points"
)

// FuzzRead: nothing panics; every refusal names the file and what is wrong;
// what is read is finite and has names and codes for each point; reading byte
// by byte gives the same.
func FuzzRead(f *testing.F) {
	files, err := filepath.Glob("testdata/*.*")
	require.NoError(f, err)
	for _, name := range files {
		data, err := os.ReadFile(name)
		require.NoError(f, err)
		f.Add(data[:min(len(data), 400)], "", "")
	}
	for _, s := range []string{
		"", "1,2", "1929078,144,5582610,153\n", "e,n,z\n1,2,3\n,,\n4,5,\n", "lat;lon\n46°57'00.36\"N;15°27'00.36\"W", "4657.006N,01527.006W",
		"id,wkt\na,\"SRID=25832;POLYGON ((0 0,9 0,\n9 5,0 0))\"\n", "wkt\nPOINT (1 2)\n", "e,n\n1,\"2\"\"\"\n3,\"4", "\"e\",\"n\"\r1,2\r", "seq,line,e,n\n2,a,1,2\n1,a,3,4",
		"1 2 3 4 5 6\n", "# E N\n1.5 2.5\n", "\xFF\xFEe\x00,\x00n\x00\n\x001\x00,\x002\x00", "e;n\n1.929.078,144;2", "x\ty\n123,456\t789,012", "e,n\n0,0\n500000,500000", "e|n\n1e999|-.5",
	} {
		f.Add([]byte(s), "", "")
		f.Add([]byte(s), "PNEZD", "comma")
		f.Add([]byte(s), "lon lat", "point")
	}
	f.Fuzz(func(t *testing.T, in []byte, columns, decimal string) {
		opt := points.Options{Columns: columns, Decimal: decimal}
		got, err := points.Read("x", bytes.NewReader(in), opt)
		slow, slowErr := points.Read("x", iotest.OneByteReader(bytes.NewReader(in)), opt)
		require.Equal(t, fmt.Sprint(err), fmt.Sprint(slowErr))
		require.Equal(t, fmt.Sprint(got.Features), fmt.Sprint(slow.Features))
		if err != nil {
			var e *geo.InputError
			require.ErrorAs(t, err, &e)
			assert.Equal(t, "x", e.File)
			assert.NotEmpty(t, e.Problem)
			assert.Empty(t, got.Features)
			return
		}
		require.NotEmpty(t, got.Features)
		for i, one := range got.Features {
			require.Positive(t, one.Line)
			require.GreaterOrEqual(t, one.Number, i+1)
			require.NotZero(t, len(one.Points)+len(one.Lines)+len(one.Polygons))
			for _, p := range one.Points {
				require.False(t, math.IsNaN(p.X) || math.IsInf(p.X, 0) || math.IsNaN(p.Y) || math.IsInf(p.Y, 0) || math.IsInf(p.Z, 0))
				if got.Reference.WGS84 {
					require.True(t, math.Abs(p.Y) <= 90 && math.Abs(p.X) <= 360)
				}
			}
			for _, key := range []string{points.PropNames, points.PropCodes} {
				if texts, ok := one.Properties[key].([]string); ok {
					require.Len(t, texts, len(one.Points))
				}
			}
		}
	})
}

func BenchmarkRead(b *testing.B) {
	forms := map[string]func(i int) string{
		"xyz": func(i int) string {
			return fmt.Sprintf("%.3f %.3f %.3f\n", 500000+float64(i%1000)*.5, 5200000+float64(i/1000)*.5, 200+float64(i%977)*.013)
		},
		"semicolon": func(i int) string {
			return strings.ReplaceAll(fmt.Sprintf("%d;%.3f;%.3f;%.3f;GND\n", i, 500000+float64(i%1000)*.5, 5200000+float64(i/1000)*.5, 200+float64(i%977)*.013), ".", ",")
		},
	}
	for _, form := range []string{"xyz", "semicolon"} {
		for _, n := range []int{1000, 1000000} {
			var text strings.Builder
			if form == "semicolon" {
				text.WriteString("Punkt;Rechtswert;Hochwert;Höhe;Code\n")
			}
			for i := range n {
				text.WriteString(forms[form](i))
			}
			b.Run(fmt.Sprintf("%s/n=%d", form, n), func(b *testing.B) {
				b.SetBytes(int64(text.Len()))
				b.ReportAllocs()
				for b.Loop() {
					if _, err := points.Read("x", strings.NewReader(text.String()), points.Options{}); err != nil {
						b.Fatal(err)
					}
				}
			})
		}
	}
}
