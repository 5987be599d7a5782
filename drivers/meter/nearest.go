package meter

import "strings"

// nearest ends a message about a wrong word: the nearest right one, and all.
func nearest(word string, right []string) string {
	best, least := "", len(word)/2+2
	for _, r := range right {
		if d := distance(strings.ToLower(word), r); d < least {
			best, least = r, d
		}
	}
	text := " is none of " + strings.Join(right, ", ")
	if best != "" {
		text += "; did you mean " + best + "?"
	}
	return text
}

// distance is how many letters must be changed, added or dropped (Levenshtein).
func distance(a, b string) int {
	row := make([]int, len(b)+1)
	for j := range row {
		row[j] = j
	}
	for i := range len(a) {
		diagonal := row[0]
		row[0] = i + 1
		for j := range len(b) {
			change := diagonal
			if a[i] != b[j] {
				change++
			}
			diagonal = row[j+1]
			row[j+1] = min(change, row[j]+1, row[j+1]+1)
		}
	}
	return row[len(b)]
}
