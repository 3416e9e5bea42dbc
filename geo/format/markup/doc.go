// Package markup reads XML of unknown origin within bounds: at most [MaxBytes]
// of input, elements nested at most [MaxDepth] deep, no document type, no
// entities but the five of XML. It knows lines, so that a fault can be found,
// and text in UTF-8, UTF-16 or any encoding that the file declares.
//
// A [Reader] walks elements with functions of the caller:
//
//	r, err := markup.NewReader("north.kml", in, nil)
//	root, err := r.Root()
//	err = r.Each(func(e markup.Element) error {
//		if e.Name == "name" {
//			text, err := r.Text()
//			...
//		}
//		return nil // what was not read is passed over
//	})
//
// It judges no coordinate: what numbers mean is for the formats.
package markup
