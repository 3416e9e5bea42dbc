package points_test

import (
	"fmt"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"hemrow/geo/format"
	"hemrow/geo/format/points"
)

// dialect is one way to write points.
type dialect struct {
	sep     string
	comma   bool
	eol     string
	quote   bool
	mark    bool
	header  bool
	comment bool
	order   string // of the columns, as for the option
}

func anyDialect(t *rapid.T) dialect {
	d := dialect{
		sep:     rapid.SampledFrom([]string{";", "\t", ",", "|", " ", "   ", ", ", " ; "}).Draw(t, "separator"),
		comma:   rapid.Bool().Draw(t, "comma"),
		eol:     rapid.SampledFrom([]string{"\n", "\r\n"}).Draw(t, "end"),
		quote:   rapid.Bool().Draw(t, "quote"),
		mark:    rapid.Bool().Draw(t, "mark"),
		header:  rapid.Bool().Draw(t, "header"),
		comment: rapid.Bool().Draw(t, "comment"),
		order:   rapid.SampledFrom([]string{"EN", "NE", "ENZ", "NEZ", "PENZ", "PNEZD", "ENZD", "ZEN"}).Draw(t, "order"),
	}
	if strings.TrimSpace(d.sep) == "," && d.comma {
		d.quote = true
	}
	return d
}

var titles = map[rune][]string{
	'P': {"Point", "name", "Pkt"}, 'E': {"E", "Easting", "x", "Rechtswert"}, 'N': {"N", "Northing", "y", "Hochwert"},
	'Z': {"Z", "height", "Höhe"}, 'D': {"code", "Desc"},
}

func (d dialect) write(t *rapid.T, all []format.Coord, names, codes []string) string {
	var b strings.Builder
	if d.mark {
		b.WriteString("\uFEFF")
	}
	line := func(words []string) { b.WriteString(strings.Join(words, d.sep) + d.eol) }
	if d.header {
		var words []string
		kind := rapid.IntRange(0, 3).Draw(t, "titles") // the same for E and N
		for _, c := range d.order {
			words = append(words, titles[c][kind%len(titles[c])])
		}
		line(words)
	}
	field := func(v float64) string {
		s := strconv.FormatFloat(v, 'f', -1, 64)
		if !strings.Contains(s, ".") {
			s += ".0"
		}
		if d.comma {
			s = strings.Replace(s, ".", ",", 1)
		}
		if d.quote {
			s = `"` + s + `"`
		}
		return s
	}
	for i, p := range all {
		if d.comment && i%3 == 0 {
			b.WriteString("# station " + strconv.Itoa(i) + d.eol)
		}
		var words []string
		for _, c := range d.order {
			words = append(words, map[rune]string{'P': names[i], 'D': codes[i], 'E': field(p.X), 'N': field(p.Y), 'Z': field(p.Z)}[c])
		}
		line(words)
	}
	return b.String()
}

// What is written in any dialect is read again to the last bit, with the option
// for columns when there is no header.
func TestWriteRead(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := anyDialect(t)
		n := rapid.IntRange(1, 40).Draw(t, "points")
		all := make([]format.Coord, n)
		names, codes := make([]string, n), make([]string, n)
		for i := range all {
			all[i] = format.Coord{
				X: 500000 + rapid.Float64Range(0, 1000).Draw(t, "x"), Y: 5200000 + rapid.Float64Range(-1000, 1000).Draw(t, "y"),
				Z: rapid.Float64Range(0.001, 900).Draw(t, "z"),
			}
			names[i] = fmt.Sprintf("P%d", i+1)
			codes[i] = rapid.SampledFrom([]string{"GND", "gate", "Zaun-ß"}).Draw(t, "code")
		}
		opt := points.Options{}
		if !d.header {
			opt.Columns = d.order
		}
		if d.comma {
			opt.Decimal = "comma"
		}
		text := d.write(t, all, names, codes)
		f, err := points.Read("x", strings.NewReader(text), opt)
		require.NoError(t, err, "%q", text)
		if !strings.Contains(d.order, "Z") {
			for i := range all {
				all[i].Z = nan
			}
		}
		requireOne(t, f, all...)
		if strings.Contains(d.order, "P") {
			require.Equal(t, names, f.Features[0].Properties[points.PropNames])
		}
		if strings.Contains(d.order, "D") {
			require.Equal(t, codes, f.Features[0].Properties[points.PropCodes])
		}
	})
}

// An angle written in any form is read within half its last digit.
func TestWriteReadAngles(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		way := rapid.SampledFrom([]func(v float64, width int, letter string) string{
			func(v float64, _ int, letter string) string { return fmt.Sprintf("%.11f%s", v, letter) },
			func(v float64, w int, letter string) string {
				d, m := cut60(v)
				return fmt.Sprintf("%0*d%012.9f%s", w, d, m, letter)
			},
			func(v float64, _ int, letter string) string {
				d, m := cut60(v)
				return fmt.Sprintf("%d°%.9f'%s", d, m, letter)
			},
			func(v float64, _ int, letter string) string {
				d, m := cut60(v)
				m2, s := cut60(m)
				return fmt.Sprintf("%d %d %.7f %s", d, m2, s, letter)
			},
			func(v float64, w int, letter string) string {
				d, m := cut60(v)
				m2, s := cut60(m)
				return fmt.Sprintf("%0*d%02d%010.7f%s", w, d, m2, s, letter)
			},
		}).Draw(t, "form")
		text := "lat;lon\n"
		var want []format.Coord
		for range rapid.IntRange(1, 5).Draw(t, "points") {
			// away from the whole minutes at which rounding would carry
			p := format.Coord{X: minutes(t, "lon", 179), Y: minutes(t, "lat", 89)}
			east := rapid.SampledFrom([]string{"E", "W"}).Draw(t, "east")
			north := rapid.SampledFrom([]string{"N", "S"}).Draw(t, "north")
			text += way(p.Y, 2, north) + ";" + way(p.X, 3, east) + "\n"
			if east == "W" {
				p.X = -p.X
			}
			if north == "S" {
				p.Y = -p.Y
			}
			want = append(want, p)
		}
		f, err := points.Read("x", strings.NewReader(text), points.Options{})
		require.NoError(t, err, text)
		require.True(t, f.Reference.WGS84)
		for i, p := range f.Features[0].Points {
			require.InDelta(t, want[i].X, p.X, 2e-11, text)
			require.InDelta(t, want[i].Y, p.Y, 2e-11, text)
		}
	})
}

func cut60(v float64) (whole int, rest float64) { return int(v), (v - float64(int(v))) * 60 }

func minutes(t *rapid.T, label string, most int) float64 {
	d := rapid.IntRange(0, most).Draw(t, label)
	m := rapid.IntRange(0, 59).Draw(t, label)
	s := rapid.Float64Range(0.5, 59.5).Draw(t, label)
	return float64(d) + (float64(m)+s/60)/60
}
