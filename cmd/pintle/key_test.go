//go:build !windows

package main

import (
	"bufio"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/creack/pty"
	"github.com/stretchr/testify/require"

	"pintle/reports/seal"
)

// onTerminal calls pintle on a terminal and answers each question once it is asked. It gives
// all that stood on the screen, and the exit status.
func onTerminal(t *testing.T, args []string, answers ...string) (screen string, status int) {
	t.Helper()
	self, err := os.Executable()
	require.NoError(t, err)
	c := exec.Command(self)
	c.Args = append([]string{"pintle"}, args...)
	terminal, err := pty.Start(c)
	require.NoError(t, err)
	defer terminal.Close()
	var seen strings.Builder
	for in := bufio.NewReader(terminal); ; {
		b, err := in.ReadByte()
		if err != nil {
			break // the program has ended
		}
		seen.WriteByte(b)
		if len(answers) > 0 && strings.HasSuffix(seen.String(), ": ") {
			_, err := terminal.WriteString(answers[0] + "\r")
			require.NoError(t, err)
			answers = answers[1:]
		}
	}
	_ = c.Wait()
	require.Empty(t, answers, "there was no question: %s", seen.String())
	return seen.String(), c.ProcessState.ExitCode()
}

// On a terminal the passphrase is asked for twice, and never shown.
func TestPassphraseIsAskedForAndNotShown(t *testing.T) {
	const phrase = "rope, oar, tide"
	file := filepath.Join(t.TempDir(), "a.key")
	screen, status := onTerminal(t, []string{"key", "new", "--key", file}, phrase, "another one")
	require.Equal(t, statusUsage, status, screen)
	require.Contains(t, screen, "the two passphrases differ")
	require.NoFileExists(t, file)

	screen, status = onTerminal(t, []string{"key", "new", "--key", file}, phrase, phrase)
	require.Equal(t, statusPass, status, screen)
	require.Contains(t, screen, "public key   RW")
	require.NotContains(t, screen, "oar")
	k, err := seal.Load(file, phrase)
	require.NoError(t, err)

	require.NoError(t, os.Remove(publicFile(file)))
	screen, status = onTerminal(t, []string{"key", "show", "--key", file}, phrase)
	require.Equal(t, statusPass, status, screen)
	require.Contains(t, screen, k.Public().String())
	require.NotContains(t, screen, "oar")
}
