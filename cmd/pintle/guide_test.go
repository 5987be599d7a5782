package main

import (
	"bytes"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// A fence opens a block that the guide's reader follows: a session, a file to write, or
// a line of a file to change.
var fence = regexp.MustCompile("(?s)```(console|yaml|diff|text|sh)(?: (\\S+))?\n(.*?)```\n")

// TestTheGuideIsFollowed does all that the guide says, in its order, and wants what it
// shows. With -update it is rewritten.
func TestTheGuideIsFollowed(t *testing.T) {
	if testing.Short() {
		t.Skip("takes some 10 s; run without -short")
	}
	t.Setenv("LC_ALL", "C.UTF-8")
	home, err := os.Getwd()
	require.NoError(t, err)
	config := t.TempDir()
	t.Setenv("XDG_CONFIG_HOME", config) // where the key goes
	t.Chdir(t.TempDir())
	var out strings.Builder
	at, sessions := 0, 0
	for _, m := range fence.FindAllStringSubmatchIndex(guide, -1) {
		kind, file, text := guide[m[2]:m[3]], "", guide[m[6]:m[7]]
		if m[4] >= 0 {
			file = guide[m[4]:m[5]]
		}
		out.WriteString(guide[at:m[6]])
		at = m[7]
		switch {
		case kind == "yaml" || kind == "text":
			require.NotEmpty(t, file, "nobody is told where this goes:\n%s", text)
			require.NoError(t, os.WriteFile(file, []byte(text), 0o600))
		case kind == "sh" && strings.HasPrefix(text, "unzip "):
			ordinary(t, text, publicKey(t))
		case kind == "sh": // wants hardware, or hours; TestEveryCallInTheDocsIsKnown looks at it
			require.NotEmpty(t, text)
		case kind == "diff":
			amend(t, file, text)
		default:
			sessions++
			got := perform(t, text)
			if !*update {
				require.Equal(t, masked(text), masked(got))
			}
			text = got
		}
		out.WriteString(text)
	}
	require.Greater(t, sessions, 5, "the guide's sessions are gone")
	out.WriteString(guide[at:])
	if *update {
		require.NoError(t, os.WriteFile(filepath.Join(home, "guide.md"), []byte(strings.ReplaceAll(out.String(), config, "/home/you/.config")), 0o644))
	}
}

// chance is what no two evenings have in common: names of runs, keys and what is signed.
var chance = regexp.MustCompile(`\d{8}-\d{6}\.\d{3}|RW[A-Za-z0-9+/]{54}|[0-9A-F]{16}|[0-9a-f]{64}|/\S*/pintle\.(pub|key)`)

func masked(text string) string { return chance.ReplaceAllString(text, "...") }

// amend changes one line, or the beginning of one, as a block of the form of diff says.
func amend(t *testing.T, file, block string) {
	t.Helper()
	was, is, ok := strings.Cut(strings.TrimSuffix(block, "\n"), "\n")
	require.True(t, ok && was[0] == '-' && is[0] == '+', "%s", block)
	text, err := os.ReadFile(file)
	require.NoError(t, err)
	require.Equal(t, 1, strings.Count(string(text), was[1:]), "%q in %s", was[1:], file)
	require.NoError(t, os.WriteFile(file, []byte(strings.Replace(string(text), was[1:], is[1:], 1)), 0o644))
}

// Every chapter is printed alone, fits a terminal, and is numbered as it is asked for.
func TestTheGuideByChapters(t *testing.T) {
	t.Setenv("LC_ALL", "C.UTF-8")
	var whole, parts bytes.Buffer
	require.Zero(t, pintle(t.Context(), []string{"guide", "all"}, &whole, &whole))
	require.Equal(t, guide, whole.String())
	all := chapters()
	var titles []string
	for _, c := range all[1:] {
		title, _, _ := strings.Cut(c, "\n")
		titles = append(titles, title)
	}
	for _, part := range []string{"What you need", "The rehearsal", "Wiring", "The bench first", "The run", "A scenario of your own", "The certificate"} {
		require.Contains(t, strings.Join(titles, "\n"), part, "from a box of parts to a certificate")
	}
	require.Greater(t, strings.Count(all[1], "\n- **"), 5, "a list of parts")
	require.Contains(t, all[8], "pintle: 4 mistakes:", "a scenario is learnt by mistakes and what is said of them")
	for n := 1; n < len(all); n++ {
		parts.Reset()
		require.Zero(t, pintle(t.Context(), []string{"guide", strconv.Itoa(n)}, &parts, &parts))
		require.True(t, strings.HasPrefix(parts.String(), "## "+strconv.Itoa(n)+" "), "%.40s", parts.String())
	}
	for line := range strings.Lines(fence.ReplaceAllString(guide, "")) {
		if !strings.HasPrefix(line, "|") {
			require.LessOrEqual(t, len([]rune(strings.TrimSuffix(line, "\n"))), 80, "%s", line)
		}
	}
	require.Equal(t, statusUsage, pintle(t.Context(), []string{"guide", "99"}, &parts, &parts))
}
