// Package report writes what people and other programs read from a result
// document: the summary, the map, row lines and lists. Every function here is
// a function of the document alone and counts nothing of its own; converting
// a figure to the reader's units is all the arithmetic there is, and on the
// map the arithmetic of drawing.
//
// The document's text comes from files of strangers. It is cleaned of control
// characters and escaped for the format it goes into; it never becomes
// markup, a formula or a second line.
package report
