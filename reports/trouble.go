package reports

import "strings"

// ToldTrouble is a trouble of the bench as a trial keeps it: its code, and what happened.
func ToldTrouble(code, text string) string { return code + ": " + text }

// ReadTrouble is the other way round. The code is empty where there was none.
func ReadTrouble(told string) (code, text string) {
	code, text, ok := strings.Cut(told, ": ")
	if !ok || strings.ContainsAny(code, " .") {
		return "", told
	}
	return code, text
}
