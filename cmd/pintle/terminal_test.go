//go:build !windows

package main

import (
	"fmt"
	"io"
	"os"
	"os/exec"
	"strings"
	"testing"

	"github.com/creack/pty"
	"github.com/stretchr/testify/require"

	"pintle/reports/logbook"
)

// shown calls pintle on a terminal of so many columns and gives what is written to it.
func shown(t *testing.T, columns uint16, args ...string) string {
	t.Helper()
	self, err := os.Executable()
	require.NoError(t, err)
	c := exec.Command(self)
	c.Args = append([]string{"pintle"}, args...)
	terminal, err := pty.StartWithSize(c, &pty.Winsize{Rows: 24, Cols: columns})
	require.NoError(t, err)
	defer terminal.Close()
	text, _ := io.ReadAll(terminal) // it ends with an error when the program has ended
	_ = c.Wait()
	return strings.ReplaceAll(string(text), "\r\n", "\n")
}

// On a terminal a run says what to call next, and its progress takes one row, however
// narrow the terminal: of a second one a piece would be left behind.
func TestARunOnATerminal(t *testing.T) {
	t.Setenv("LC_ALL", "C.UTF-8")
	t.Chdir(t.TempDir())
	screen := shown(t, 60, "run", "--logbook", "log.db", "--workers", "1", "press-at-the-end-of-the-quiet-time", "press-after-the-run-time-cut-out")
	require.Contains(t, screen, "\nNext: pintle show last press-at-the-end-of-the-quiet-time --logbook log.db\n      pintle certify last --logbook log.db\n")
	drawn := 0
	for _, row := range strings.Split(screen, "\r") {
		if _, row, ok := strings.Cut(row, "\x1b[J"); ok && strings.HasPrefix(row, "=") {
			drawn++
			row, _, _ = strings.Cut(row, "\n")
			require.LessOrEqual(t, len(row), 59, "%q", row)
		}
	}
	require.Positive(t, drawn, "no progress was drawn")
}

// On a terminal a message is broken between words; elsewhere it stays one line.
func TestAMessageOnATerminal(t *testing.T) {
	t.Setenv("LC_ALL", "C.UTF-8")
	t.Chdir(t.TempDir())
	screen := shown(t, 40, "check", "no-such-folder-of-mine")
	require.Contains(t, screen, "pintle init")
	lines := strings.Split(strings.TrimSpace(screen), "\n")
	require.Greater(t, len(lines), 2)
	for _, line := range lines {
		require.LessOrEqual(t, len(line), 40, "%q", line)
	}
}

// What only people at a terminal do: a short passphrase is refused before it is typed
// twice, a record is not poured over the screen, a logbook of tomorrow's is told of.
func TestMistakesAtATerminal(t *testing.T) {
	t.Setenv("LC_ALL", "C.UTF-8")
	t.Chdir(t.TempDir())
	screen, status := onTerminal(t, []string{"key", "new", "--key", "a.key"}, "short")
	require.Equal(t, statusUsage, status)
	require.Contains(t, screen, "of at least 8 characters")
	require.Contains(t, screen, "think of a longer one")
	require.NoFileExists(t, "a.key")

	shown(t, 80, "run", "normal-cycle", "--logbook", "log.db")
	require.Contains(t, shown(t, 200, "export", "last", "--logbook", "log.db"), "name a file with --out")
	require.Contains(t, shown(t, 80, "export", "last", "--as", "json", "--logbook", "log.db"), "{\"began\"")

	var errs strings.Builder
	(&app{err: &errs}).complain(fmt.Errorf("logbook log.db: %w", logbook.ErrNewer))
	require.Contains(t, errs.String(), "use a pintle that is at least as new")
}
