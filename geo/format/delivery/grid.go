package delivery

import (
	"io"

	"hemrow/geo/crs"
)

// mostGridBytes bounds a file of datum shifts; the largest national ones have
// some 200 MB.
const mostGridBytes = 512 << 20

// DatumGrid reads a grid of datum shifts (NTv2).
func DatumGrid(src Source) (*crs.Grid, error) {
	f, err := src.open()
	if err != nil {
		return nil, err
	}
	defer f.Close()
	if f.size > mostGridBytes {
		return nil, src.fault("is too large for a grid of datum shifts", "")
	}
	data, err := io.ReadAll(f.whole())
	if err != nil {
		return nil, src.cannot(err)
	}
	return crs.ReadNTv2(src.Shown(), data)
}
