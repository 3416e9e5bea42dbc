package geotiff_test

import (
	"fmt"
	"os"

	"hemrow/geo/format/geotiff"
)

func ExampleOpen() {
	f, err := os.Open("testdata/hill.tif")
	if err != nil {
		fmt.Println(err)
		return
	}
	defer f.Close()
	stat, err := f.Stat()
	if err != nil {
		fmt.Println(err)
		return
	}
	r, err := geotiff.Open("hill.tif", f, stat.Size())
	if err != nil {
		fmt.Println(err)
		return
	}
	l := r.Layout()
	fmt.Println(r.Head().Reference.Declared, l.Cols, "x", l.Rows)
	g, err := r.Window(20, 10, 22, 12)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%.2f %.2f: %.3f m\n", g.OriginX, g.OriginY, g.Heights[0])
	// Output:
	// EPSG:32720 64 x 48
	// 312462.78 5800864.17: 160.421 m
}
