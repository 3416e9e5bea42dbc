package crs

// ReadWKTAlone is what a text says by itself, before the table is asked.
func ReadWKTAlone(text string) (Definition, error) {
	w, err := readWKT(text)
	if err != nil {
		return Definition{}, err
	}
	return w.def, nil
}

// ReadTableAgain takes the first call's time.
func ReadTableAgain() (int, error) {
	t, err := inflateEPSG()
	if err != nil {
		return 0, err
	}
	return len(t.projected), nil
}
