package main

import (
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/spf13/cobra"
	"github.com/stretchr/testify/require"

	"pintle/rig/need"
)

var (
	// A called is one call of the program in a document: in running text, or on a line that
	// is typed.
	called = regexp.MustCompile("(?m)`pintle ([a-z][^`]*)`|^(?:\\$ |sudo )?(?:pintle|go run \\./cmd/pintle) ([a-z][^\\n#|]*)")
	// An option is a flag that a row of a table names beside its call.
	option = regexp.MustCompile("`(--[a-z-]+)[^`]*`")
)

// Every call that the documents name is one that the program knows, with its flags; in a
// table, the flags that stand in the call's row too.
func TestEveryCallInTheDocsIsKnown(t *testing.T) {
	for file, least := range map[string]int{"../../README.md": 40, "../../DEVELOPERS.md": 4, "guide.md": 20} {
		text, err := os.ReadFile(file)
		require.NoError(t, err)
		seen := 0
		for line := range strings.Lines(strings.ReplaceAll(string(text), continued, " ")) {
			for _, m := range called.FindAllStringSubmatch(line, -1) {
				c := known(t, file, words(m[1]+m[2]))
				seen++
				if !strings.HasPrefix(line, "| `pintle ") {
					continue
				}
				for _, o := range option.FindAllStringSubmatch(line, -1) {
					knows(t, file, c, o[1])
				}
			}
		}
		require.GreaterOrEqual(t, seen, least, "the calls of %s are not found any more", file)
	}
}

// known finds the command of a call that is to be known, and looks its flags up.
func known(t *testing.T, file string, call []string) *cobra.Command {
	t.Helper()
	root := (&app{}).root()
	root.InitDefaultCompletionCmd()
	c, _, err := root.Find(call[:1])
	require.NoError(t, err, "%s: pintle %v", file, call)
	if len(call) > 1 && c.HasSubCommands() && c.Name() != "completion" {
		c, _, err = root.Find(call[:2])
		require.NoError(t, err, "%s: pintle %v", file, call)
	}
	require.NotEqual(t, "pintle", c.Name(), "%s: pintle %v", file, call)
	for _, word := range call[1:] {
		if strings.HasPrefix(word, "--") {
			knows(t, file, c, word)
		}
	}
	return c
}

func knows(t *testing.T, file string, c *cobra.Command, flag string) {
	t.Helper()
	flag, _, _ = strings.Cut(strings.TrimPrefix(flag, "--"), "=")
	flag = strings.TrimRight(flag, ",.;:)")
	if flag != "help" && flag != "lamps" { // that is an example's, which TestTheExamplesBuild calls
		require.NotNil(t, c.Flag(flag), "%s: %s has no --%s", file, c.CommandPath(), flag)
	}
}

// ordinary performs, as it stands, how a record is checked without this program.
func ordinary(t *testing.T, block, key string) {
	t.Helper()
	for tool, from := range map[string]string{"unzip": "unzip", "minisign": "minisign", "sha256sum": "coreutils"} {
		need.Tool(t, tool, "apt-get install "+from)
	}
	require.Contains(t, block, "PUBLIC-KEY")
	out, err := exec.Command("sh", "-ec", strings.ReplaceAll(block, "PUBLIC-KEY", key)).CombinedOutput()
	require.NoError(t, err, "%s", out)
	require.Contains(t, string(out), "Signature and comment signature verified")
	require.Contains(t, string(out), `"verdict":"pass"`)
}

// The README checks a record without this program; so it is done here.
func TestTheReadmeChecksARecord(t *testing.T) {
	text, err := os.ReadFile("../../README.md")
	require.NoError(t, err)
	block := regexp.MustCompile("(?s)```sh\n(unzip .*?)```\n").FindSubmatch(text)
	require.NotNil(t, block)
	serveHome(t)
	require.NoError(t, os.WriteFile("words", []byte("a passphrase of the test's own\n"), 0o600))
	for _, call := range []string{"key new --passphrase-file words", "run normal-cycle --logbook log.db", "certify last --logbook log.db --passphrase-file words --record record-RUN.zip"} {
		perform(t, "$ pintle "+call+"\n")
	}
	ordinary(t, string(block[1]), publicKey(t))
}

// publicKey is the line of the key file of the test's own.
func publicKey(t *testing.T) string {
	t.Helper()
	text, err := os.ReadFile(filepath.Join(os.Getenv("XDG_CONFIG_HOME"), "pintle", "pintle.pub"))
	require.NoError(t, err)
	lines := strings.Fields(string(text))
	return lines[len(lines)-1]
}
