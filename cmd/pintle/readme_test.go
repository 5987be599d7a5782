package main

import (
	"bytes"
	"context"
	"os"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

var (
	session = regexp.MustCompile("(?s)```console\n(.*?)```\n")
	names   = regexp.MustCompile(`\d{8}-\d{6}\.\d{3}`) // of runs: the time of day
)

// TestTheReadmeShowsWhatIsPrinted performs every command of the README's session
// and wants what is shown there. With -update it is rewritten.
func TestTheReadmeShowsWhatIsPrinted(t *testing.T) {
	if testing.Short() {
		t.Skip("takes some 10 s; run without -short")
	}
	t.Setenv("LC_ALL", "C.UTF-8")
	const file = "../../README.md"
	text, err := os.ReadFile(file)
	require.NoError(t, err)
	blocks := session.FindAllStringSubmatch(string(text), -1)
	require.NotEmpty(t, blocks, "the README has no session any more")
	home, err := os.Getwd()
	require.NoError(t, err)
	t.Chdir(t.TempDir())
	for _, b := range blocks {
		got := perform(t, b[1])
		if *update {
			text = []byte(strings.Replace(string(text), b[1], got, 1))
			continue
		}
		require.Equal(t, names.ReplaceAllString(b[1], "RUN"), names.ReplaceAllString(got, "RUN"))
	}
	if *update {
		require.NoError(t, os.WriteFile(home+"/"+file, text, 0o644))
	}
}

// words takes a call apart as a shell does, as far as the README needs it.
func words(call string) []string {
	var all []string
	for i, part := range strings.Split(call, `"`) {
		if i%2 == 1 {
			all = append(all, part)
		} else {
			all = append(all, strings.Fields(part)...)
		}
	}
	return all
}

// perform performs the lines of a session that begin with a dollar sign.
// continued is where a call goes on in the next line.
const continued = "\\\n"

func perform(t *testing.T, block string) string {
	t.Helper()
	var out strings.Builder
	for line := range strings.Lines(strings.ReplaceAll(block, continued, "\x00")) {
		line = strings.ReplaceAll(line, "\x00", continued)
		call, ok := strings.CutPrefix(strings.TrimSpace(line), "$ pintle ")
		if !ok {
			continue
		}
		out.WriteString(line)
		var printed, errs bytes.Buffer
		pintle(context.Background(), words(strings.ReplaceAll(call, continued, " ")), &printed, &errs)
		out.WriteString(printed.String())
		out.WriteString(errs.String())
	}
	return out.String()
}
