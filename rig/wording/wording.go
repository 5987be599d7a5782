// Package wording keeps the small rules of English that every text of the program needs.
package wording

import (
	"strconv"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"
)

// Count says how many there are of a thing: "no trials", "1 trial", "3 trials". Where
// more than one is not called the same with an s, many is what they are called.
func Count(n int, one string, many ...string) string {
	if n == 1 {
		return "1 " + one
	}
	name := one + "s"
	if len(many) > 0 {
		name = many[0]
	}
	if n == 0 {
		return "no " + name
	}
	return strconv.Itoa(n) + " " + name
}

// Times says how often: "never", "once", "3 times".
func Times(n int) string {
	switch n {
	case 0:
		return "never"
	case 1:
		return "once"
	}
	return strconv.Itoa(n) + " times"
}

// Upper begins a sentence: its first letter is a capital. A unit keeps its own.
func Upper(text string) string {
	first, size := utf8.DecodeRuneInString(text)
	if !unicode.IsLower(first) || first == 'µ' {
		return text
	}
	return string(unicode.ToUpper(first)) + text[size:]
}

// Clause makes of a sentence a part of another: its first letter is a small one, and
// its full stop is gone.
func Clause(text string) string {
	text = strings.TrimSuffix(text, ".")
	first, size := utf8.DecodeRuneInString(text)
	if second, _ := utf8.DecodeRuneInString(text[size:]); !unicode.IsUpper(first) || unicode.IsUpper(second) {
		return text // it begins with an abbreviation, or is a clause as it is
	}
	return string(unicode.ToLower(first)) + text[size:]
}

// Time is a duration with a space before each unit, as the SI brochure wants it (section
// 5.4.3), and without the units that come to nothing: "2.5 ms", "1 h 13 min".
func Time(d time.Duration) string {
	if d == 0 {
		return "0 s"
	}
	text, rest := "", d.String()
	for rest != "" {
		end := strings.IndexFunc(rest, unicode.IsLetter)
		number := rest[:end]
		rest = rest[end:]
		after := strings.IndexFunc(rest, unicode.IsDigit)
		if after < 0 {
			after = len(rest)
		}
		unit := rest[:after]
		rest = rest[after:]
		if unit == "m" {
			unit = "min"
		}
		if number != "0" {
			text += " " + number + " " + unit
		}
	}
	return text[1:]
}
