package delivery

import (
	"io"
	"path"
	"strings"

	"hemrow/geo/crs"
)

// SystemText is a reference system as a plan names it, or the text of the .prj
// file that the name leads to.
func SystemText(name string, find func(name string) Source) (string, error) {
	if !strings.EqualFold(path.Ext(name), ".prj") {
		return name, nil
	}
	f, err := find(name).open()
	if err != nil {
		return "", err
	}
	defer f.Close()
	data, err := io.ReadAll(io.LimitReader(f.whole(), mostCompanion))
	return string(data), err
}

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
