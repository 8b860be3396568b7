package printable

import "fmt"

// Count is a number of things in words: 1 reading, 2 readings. What takes an s in the plural.
func Count(n int, what string) string {
	if n == 1 {
		return "1 " + what
	}
	return fmt.Sprintf("%d %ss", n, what)
}
