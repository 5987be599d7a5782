package fold_test

import (
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"pintle/rig/fold"
)

func TestText(t *testing.T) {
	for _, c := range []struct{ name, head, hang, words, want string }{
		{"as long as a line", "", "", "one two three", "one two three\n"},
		{"a column longer", "", "", "one two threes", "one two\nthrees\n"},
		{"under its head", "ab  ", "    ", "one two three", "ab  one two\n    three\n"},
		{"the head leaves less than what follows", "a: ", "", "one two three four", "a: one two\nthree four\n"},
		{"what follows has less", "", "      ", "one two three four", "one two three\n      four\n"},
		{"no words", "  - ", "    ", "", "  -\n"},
		{"white space of any kind", "", "", " one\t\n two ", "one two\n"},
		{"a word too long, alone", "", "  ", "abcdefghijklmnop", "abcdefghijklmnop\n"},
		{"a word too long, between", "", "  ", "a abcdefghijklmnop b", "a\n  abcdefghijklmnop\n  b\n"},
		{"a figure with its unit", "", "", "not over 150\u00a0ms", "not over\n150 ms\n"},
		{"letters, not bytes", "", "", "äöü äöü äöüäö", "äöü äöü äöüäö\n"},
		{"bold takes no room", "\x1b[1mab\x1b[0m  ", "    ", "one two thr", "\x1b[1mab\x1b[0m  one two\n    thr\n"},
	} {
		require.Equal(t, c.want, fold.Text(c.head, c.hang, c.words, 13), c.name)
	}
}

func TestFigures(t *testing.T) {
	for text, want := range map[string]string{
		"491.3 ms ± 1.3 ms, and at most 0.8 s": "491.3~ms~±~1.3~ms, and at most 0.8~s", "0.2 % of 3 A": "0.2~% of 3~A", "2 motors in 3 minutes": "2 motors in 3 minutes", "": "", "5 s": "5~s",
		"its part of ± 3 ms": "its part of ±~3~ms", "12.0 ± 0.5": "12.0~±~0.5", "1.3~ms ±~1.3~ms": "1.3~ms~±~1.3~ms", "5 %, ± 1 %": "5~%, ±~1~%", "± or −": "± or −",
		"at 3 m ± 1 ms": "at 3 m ±~1~ms", "2 ms ± 1 ms ± 1 ms": "2~ms~±~1~ms~±~1~ms",
	} {
		require.Equal(t, strings.ReplaceAll(want, "~", fold.NoBreak), fold.Figures(strings.ReplaceAll(text, "~", fold.NoBreak)))
	}
}

func TestPage(t *testing.T) {
	for _, c := range []struct{ name, page, want string }{
		{"a label", "contents      good: one two three\n", "contents      good: one\n              two three\n"},
		{"a list", "- one two three four five six\n", "- one two three four\n  five six\n"},
		{"indented", "    one two three four five\n", "    one two three four\n    five\n"},
		{"a long word", "one abcdefghijklmnopqrstuvwxyz two", "one\nabcdefghijklmnopqrstuvwxyz\ntwo"},
		{"short", "one\n\ntwo\n", "one\n\ntwo\n"},
		{"nothing", "", ""},
	} {
		require.Equal(t, c.want, fold.Page(c.page, 23), c.name)
	}
}

func TestRowsCut(t *testing.T) {
	half := func(word string) (string, string) { return word[:min(4, len(word))], word[min(4, len(word)):] }
	letters := func(s string) float64 { return float64(len(s)) }
	for _, c := range []struct {
		text string
		want []string
	}{
		{"abcd", []string{"abcd"}},
		{"abcde", []string{"abcd", "e"}},
		{"a abcdefghi j", []string{"a", "abcd", "efgh", "i j"}},
		{" ", nil},
	} {
		require.Equal(t, c.want, fold.Rows(c.text, 4, letters, half), c.text)
	}
	whole := func(word string) (string, string) { return word, "" }
	require.Equal(t, []string{"abcde", "f"}, fold.Rows("abcde f", 4, letters, whole), "what cannot be cut stays whole")
}

var heads = rapid.StringMatching(`[ a-z]{0,12}`)

// Every word is there, in its order; every line but the first hangs; none is wider than
// it may be unless it is one word, and none could have held a word more.
func TestTextProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		words := rapid.SliceOfN(rapid.StringMatching(`[a-zü\x{a0}-]{0,11}[a-zü]`), 1, 40).Draw(t, "words")
		gaps := rapid.SampledFrom([]string{" ", "\n", "  ", "\t"})
		var text strings.Builder
		for _, w := range words {
			text.WriteString(w + gaps.Draw(t, "gap"))
		}
		head, hang := heads.Draw(t, "head"), heads.Draw(t, "hang")
		columns := rapid.IntRange(1, 50).Draw(t, "columns")
		hold(t, words, head, hang, columns, fold.Text(head, hang, text.String(), columns))
	})
}

func hold(t *rapid.T, words []string, head, hang string, columns int, out string) {
	for i, line := range strings.Split(strings.TrimSuffix(out, "\n"), "\n") {
		if i > 0 {
			head = hang
		}
		held, n := "", 0
		for ; n < len(words); n++ {
			next := plain(words[n])
			if n > 0 {
				next = held + " " + next
			}
			if n > 0 && utf8.RuneCountInString(head+next) > columns {
				break
			}
			held = next
		}
		require.Equal(t, head+held, line, "line %d", i+1)
		words = words[n:]
	}
	require.Empty(t, words)
}

func plain(s string) string { return strings.ReplaceAll(s, "\u00a0", " ") }

func FuzzPage(f *testing.F) {
	f.Add("contents      good: one two three\n- a\n\n   b c", 23)
	f.Add("\x1b[1mfail\x1b[0m  \xff \u00a0", 0)
	f.Fuzz(func(t *testing.T, page string, columns int) {
		out := fold.Page(page, columns%200)
		require.Equal(t, strings.Fields(plain(page)), strings.Fields(out))
	})
}
