package yamlfile

import "strings"

// Nearest finds the word that a wrong one was probably meant to be: the one with
// the fewest letters inserted, dropped, changed or exchanged with a neighbour, if
// those are few for its length: one in a short word. Of equals the first wins. Where none
// is near it is the only one that the wrong word is a part of, if there is such a one.
func Nearest(wrong string, right []string) (string, bool) {
	if len(wrong) > 80 {
		return "", false
	}
	best, found := "", false
	least := 1
	if n := len([]rune(wrong)); n > 4 {
		least = n/3 + 1
	}
	for _, word := range right {
		if d := distance(strings.ToLower(wrong), strings.ToLower(word)); d < least || (d == least && !found) {
			best, least, found = word, d, true
		}
	}
	if found {
		return best, true
	}
	return whole(wrong, right)
}

// whole gives the one right word that a wrong one is a part of, such as a name cut short.
func whole(part string, right []string) (string, bool) {
	if len([]rune(part)) < 5 {
		return "", false
	}
	best, n := "", 0
	for _, word := range right {
		if strings.Contains(strings.ToLower(word), strings.ToLower(part)) {
			best = word
			n++
		}
	}
	if n != 1 {
		return "", false
	}
	return best, true
}

// distance is the edit distance with exchanges of neighbours (optimal string
// alignment).
func distance(from, to string) int {
	a, b := []rune(from), []rune(to)
	older, old, row := make([]int, len(b)+1), make([]int, len(b)+1), make([]int, len(b)+1)
	for j := range old {
		old[j] = j
	}
	for i := range a {
		row[0] = i + 1
		for j := range b {
			change := old[j]
			if a[i] != b[j] {
				change++
			}
			row[j+1] = min(change, old[j+1]+1, row[j]+1)
			if i > 0 && j > 0 && a[i] == b[j-1] && a[i-1] == b[j] {
				row[j+1] = min(row[j+1], older[j-1]+1)
			}
		}
		older, old, row = old, row, older
	}
	return old[len(b)]
}
