package main

import (
	"bytes"
	"strconv"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/spf13/cobra"
	"github.com/stretchr/testify/require"
)

// Whatever help and guide print fits a terminal of 80 columns.
func TestHelpFitsATerminal(t *testing.T) {
	t.Setenv("LC_ALL", "C.UTF-8")
	seen := 0
	var visit func(c *cobra.Command, call []string)
	visit = func(c *cobra.Command, call []string) {
		requireFits(t, append(call, "--help"))
		seen++
		for _, sub := range c.Commands() {
			visit(sub, append(append([]string(nil), call...), sub.Name()))
		}
	}
	visit((&app{}).root(), nil)
	require.Greater(t, seen, 18, "the commands are gone")
	requireFits(t, []string{"guide"})
	requireFits(t, []string{"guide", "all"})
	for n := 1; n < len(chapters()); n++ {
		requireFits(t, []string{"guide", strconv.Itoa(n)})
	}
	requireFits(t, []string{"explain"})
}

func requireFits(t *testing.T, call []string) {
	t.Helper()
	var out bytes.Buffer
	require.Zero(t, pintle(t.Context(), call, &out, &out), "%v: %s", call, out.String())
	require.NotEmpty(t, out.String())
	for line := range strings.Lines(out.String()) {
		require.LessOrEqual(t, utf8.RuneCountInString(strings.TrimRight(line, "\n")), 80, "pintle %s: %s", strings.Join(call, " "), line)
	}
}

// What is filled anew loses no word, and what is indented stays as it was.
func TestParagraphsAreFilled(t *testing.T) {
	require.Equal(t, "one two\nthree\n\n  as it is,  so\n\nfour", filled("one\ntwo three\n\n  as it is,  so\n\nfour\n", 8))
}
