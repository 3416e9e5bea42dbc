package geo

import "fmt"

// Counted is a number with its noun in words, 1 row and 2 rows, for nouns whose
// plural only takes an s.
func Counted(n int, noun string) string {
	if n == 1 {
		return "1 " + noun
	}
	return fmt.Sprintf("%d %ss", n, noun)
}
