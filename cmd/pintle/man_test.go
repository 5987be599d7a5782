//go:build man

package main

import (
	"bytes"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"
	"github.com/stretchr/testify/require"

	"pintle/rig/need"
)

func writtenPages(t *testing.T) string {
	t.Helper()
	dir := t.TempDir()
	t.Setenv("SOURCE_DATE_EPOCH", "1700000000")
	var out, errs bytes.Buffer
	require.Zero(t, pintle(t.Context(), []string{"man", dir}, &out, &errs), errs.String())
	return dir
}

// Every command that help shows has a page with each of its flags.
func TestManPagesSayAll(t *testing.T) {
	dir := writtenPages(t)
	root := (&app{}).root()
	cs := shown(root)
	require.Greater(t, len(cs), 10)
	for _, c := range cs {
		b, err := os.ReadFile(filepath.Join(dir, pageName(c)+".1"))
		require.NoError(t, err)
		text := strings.ReplaceAll(string(b), `\-`, "-")
		require.Contains(t, text, "2023-11-14", "the date is the source's")
		c.Flags().VisitAll(func(f *pflag.Flag) {
			require.Contains(t, text, `\fB--`+f.Name+`\fR`, c.Name())
		})
	}
	b, err := os.ReadFile(filepath.Join(dir, "pintle.1"))
	require.NoError(t, err)
	for _, c := range cs {
		require.Contains(t, strings.ReplaceAll(string(b), `\-`, "-"), pageName(c)+`\fR(1)`)
	}
	require.NotContains(t, string(b), "man DIR", "the page maker does not ship")
}

// mandoc's own check of the language finds nothing wrong.
func TestManPagesLint(t *testing.T) {
	mandoc := need.Tool(t, "mandoc", "apt-get install mandoc")
	pages, err := filepath.Glob(filepath.Join(writtenPages(t), "*.1"))
	require.NoError(t, err)
	require.NotEmpty(t, pages)
	out, err := exec.Command(mandoc, append([]string{"-T", "lint", "-W", "warning"}, pages...)...).CombinedOutput()
	require.NoError(t, err, string(out))
}

// What stands in a help text never works as a request, and comes out as it went in.
func TestManPagesKeepText(t *testing.T) {
	mandoc := need.Tool(t, "mandoc", "apt-get install mandoc")
	c := &cobra.Command{Use: "odd", Short: `a \ backslash, "quotes" and -dashes`,
		Long: ".SH not a heading\n'so it goes\n\n  kept    in columns\n  ± 5 µs `x` ~ ^"}
	c.Flags().String("level", "-3", "a `LEVEL`\n.PP of noise")
	cmd := exec.Command(mandoc, "-T", "utf8", "-O", "width=78")
	cmd.Stdin = bytes.NewReader(manPage(c, time.Unix(0, 0)))
	out, err := cmd.CombinedOutput()
	require.NoError(t, err)
	text := undo(string(out))
	for _, want := range []string{`a \ backslash, "quotes" and -dashes`, ".SH not a heading", "'so it goes",
		"  kept    in columns", "± 5 µs `x` ~ ^", "--level LEVEL", ".PP of noise (default: -3)"} {
		require.Contains(t, text, want)
	}
}

// undo takes overstriking out: x, backspace, x.
func undo(s string) string {
	var b []rune
	for _, r := range s {
		if r == '\b' {
			b = b[:len(b)-1]
			continue
		}
		b = append(b, r)
	}
	return string(b)
}

// The machine leaves no mark: pages made on another number of processors are the same.
func TestManPagesAreThoseOfAnyMachine(t *testing.T) {
	taskset := need.Tool(t, "taskset", "apt-get install util-linux")
	self, err := os.Executable()
	require.NoError(t, err)
	if os.Getenv("PINTLE_PAGES") != "" {
		require.NoError(t, writePages((&app{}).root(), os.Getenv("PINTLE_PAGES"), time.Unix(1700000000, 0).UTC()))
		return
	}
	one := t.TempDir()
	cmd := exec.Command(taskset, "-c", "0", self, "-test.run", "^"+t.Name()+"$")
	cmd.Env = append(os.Environ(), "PINTLE_PAGES="+one)
	out, err := cmd.CombinedOutput()
	require.NoError(t, err, string(out))
	all := writtenPages(t)
	pages, err := filepath.Glob(filepath.Join(all, "*.1"))
	require.NoError(t, err)
	require.NotEmpty(t, pages)
	for _, p := range pages {
		a, err := os.ReadFile(p)
		require.NoError(t, err)
		b, err := os.ReadFile(filepath.Join(one, filepath.Base(p)))
		require.NoError(t, err)
		require.Equal(t, string(a), string(b))
	}
}

func TestEpoch(t *testing.T) {
	got, err := epoch("0")
	require.NoError(t, err)
	require.Equal(t, time.Unix(0, 0).UTC(), got)
	for _, bad := range []string{"", "-1", "yesterday", "1.5"} {
		_, err := epoch(bad)
		require.ErrorContains(t, err, "SOURCE_DATE_EPOCH", bad)
	}
}
