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
	"pintle/rig/fold"
	"pintle/scenarios"
)

// screenOf calls pintle on a terminal of so many columns and gives what is written to it.
func screenOf(t *testing.T, columns uint16, args ...string) string {
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
	screen := screenOf(t, 60, "run", "--logbook", "log.db", "--workers", "1", "press-at-the-end-of-the-quiet-time", "press-after-the-run-time-cut-out")
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
	require.NotRegexp(t, `\x1b\[[0-9;]*m`, screen, "nothing has a colour or a type of its own, so NO_COLOR asks for what there is")
	t.Setenv("TERM", "dumb")
	screen = screenOf(t, 60, "run", "--logbook", "log.db", "--workers", "1", "press-at-the-end-of-the-quiet-time", "press-after-the-run-time-cut-out")
	require.NotContains(t, screen, "\x1b", "a terminal that cannot draw over is not drawn on")
	require.NotContains(t, screen, "\r")
}

// On a terminal a message is broken between words; elsewhere it stays one line.
func TestAMessageOnATerminal(t *testing.T) {
	t.Setenv("LC_ALL", "C.UTF-8")
	t.Chdir(t.TempDir())
	screen := screenOf(t, 40, "check", "no-such-folder-of-mine")
	require.Contains(t, screen, "pintle init")
	lines := strings.Split(strings.TrimSpace(screen), "\n")
	require.Greater(t, len(lines), 2)
	for _, line := range lines {
		require.LessOrEqual(t, len(line), 40, "%q", line)
	}
}

// On a narrow terminal no word is broken in two: what is longer than a line is folded
// between words, but for calls, which stay one line for whoever copies them.
func TestANarrowTerminal(t *testing.T) {
	t.Setenv("LC_ALL", "C.UTF-8")
	t.Chdir(t.TempDir())
	for _, args := range [][]string{
		{"run", "--logbook", "log.db", "normal-cycle", "--seed", "2"}, {"show", "last", "--logbook", "log.db"}, {"show", "last", "normal-cycle", "--logbook", "log.db"},
		{"log", "--logbook", "log.db"}, {"list"}, {"list", "normal-cycle", "stall time"}, {"explain"}, {"explain", "fail"}, {"check", "--help"}, {"check", "--bench", "--quick"},
		{"derive"}, {"guide"}, {"guide", "3"}, {"compare", "last", "last", "--logbook", "log.db", "--all"}, {"wiring"}, {"show", "last", "normal-cycle", "--budget", "--logbook", "log.db"},
	} {
		for line := range strings.Lines(screenOf(t, 40, args...)) {
			line = strings.TrimSuffix(line, "\n")
			if at := strings.LastIndex(line, "\r"); at >= 0 { // progress was drawn before it
				line = line[at+1:]
			}
			if isCall(line) || len(strings.Fields(line)) < 2 || strings.Contains(line, "pintle ") {
				continue
			}
			require.LessOrEqual(t, fold.Width(line), 40, "%v: %q", args, line)
		}
	}
}

// A chart is not folded: where there is no room for one, that is said.
func TestNoChartWithoutRoom(t *testing.T) {
	t.Setenv("LC_ALL", "C.UTF-8")
	t.Chdir(t.TempDir())
	screenOf(t, 80, "run", "--logbook", "log.db", "normal-cycle")
	require.Contains(t, screenOf(t, 40, "show", "last", "normal-cycle", "--logbook", "log.db"), "┃")
	screen := screenOf(t, 39, "show", "last", "normal-cycle", "--logbook", "log.db")
	require.NotContains(t, screen, "┃")
	require.Contains(t, screen, "  The strip chart wants 40 columns;\n  --svg FILE draws it to a file.\n")
}

func TestFolded(t *testing.T) {
	for _, c := range []struct{ line, at40, at20 string }{
		{"             to stop when pressed, no run-time cut-out", "             to stop when pressed, no\n             run-time cut-out", "  to stop when\n  pressed, no\n  run-time cut-out"},
		{"pass         motor moving for at most 15 s, in the end", "pass         motor moving for at most\n             15 s, in the end", "pass motor moving\n  for at most 15 s,\n  in the end"},
		{"- a list whose first thing is long, as here", "- a list whose first thing is long, as\n  here", "- a list whose first\n  thing is long, as\n  here"},
	} {
		require.Equal(t, c.at40, strings.TrimSuffix(folded(c.line, 40), "\n"))
		require.Equal(t, c.at20, strings.TrimSuffix(folded(c.line, 20), "\n"))
	}
}

func TestNarrowly(t *testing.T) {
	var out strings.Builder
	n := &narrowly{w: &out, columns: 20}
	for _, part := range []string{"short\n  a line that is lo", "nger than that\nand it came after 354 ms\n  pintle run --trials 3 normal-cycle\na  b  c\nno end"} {
		_, err := n.Write([]byte(part))
		require.NoError(t, err)
	}
	n.end()
	require.Equal(t, "short\n  a line that is\n  longer than that\nand it came after\n354 ms\n  pintle run --trials 3 normal-cycle\na  b  c\nno end", out.String())
}

// The list of all there is fits a terminal, a line for each, and begins no line that goes on.
func TestTheListIsShort(t *testing.T) {
	t.Setenv("LC_ALL", "C.UTF-8")
	job, err := scenarios.Demo(equipment())
	require.NoError(t, err)
	screen := screenOf(t, 80, "list")
	for line := range strings.Lines(screen) {
		require.LessOrEqual(t, fold.Width(strings.TrimSuffix(line, "\n")), 80, "%q", line)
	}
	for i := range job.Scenarios {
		require.Equal(t, 1, strings.Count(screen, "\n  "+job.Scenarios[i].Name+"  "), job.Scenarios[i].Name)
	}
	for _, c := range job.Controller.Values {
		require.Equal(t, 1, strings.Count(screen, "\n  "+c.Name+"  "), c.Name)
	}
	require.Less(t, strings.Count(screen, "\n"), len(job.Scenarios)+len(job.Controller.Values)+40)
	require.True(t, strings.HasSuffix(screen, "pintle list NAME tells all of a scenario or a claim.\n"), screen[max(0, len(screen)-200):])
}

// Whoever waits for the check of a bench reads what it came to last, with what to do next.
func TestTheVerdictOfABenchCheckIsLast(t *testing.T) {
	t.Setenv("LC_ALL", "C.UTF-8")
	t.Chdir(t.TempDir())
	screen := screenOf(t, 80, "check", "--bench", "--quick")
	_, end, found := strings.Cut(screen, "\nCheck of the bench ")
	require.True(t, found)
	require.Contains(t, end, ": inconclusive.")
	require.Contains(t, end, "could not be told")
	require.True(t, strings.HasSuffix(end, "\nNext: pintle run normal-cycle\n"), end)
	require.Less(t, strings.Count(end, "\n"), 12, end)
	passed, open := strings.Index(screen, "\nWhat passed\n"), strings.Index(screen, "\nWhat could not be told\n")
	require.True(t, 0 < passed && passed < open, "what needs nobody's eye comes first")
	require.NotContains(t, screen[passed:open], "Limit:")
	require.Contains(t, screen[open:], "What to do: ")
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

	screenOf(t, 80, "run", "normal-cycle", "--logbook", "log.db")
	require.Contains(t, screenOf(t, 200, "export", "last", "--logbook", "log.db"), "name a file with --out")
	require.Contains(t, screenOf(t, 80, "export", "last", "--as", "json", "--logbook", "log.db"), "{\"began\"")

	var errs strings.Builder
	(&app{err: &errs}).complain(fmt.Errorf("logbook log.db: %w", logbook.ErrNewer))
	require.Contains(t, errs.String(), "use a pintle that is at least as new")
}

// What was folded once is not folded again: on a narrow terminal every line is as full as
// its words allow.
func TestANarrowTerminalHasNoRaggedLines(t *testing.T) {
	t.Setenv("LC_ALL", "C.UTF-8")
	t.Chdir(t.TempDir())
	for _, seed := range []string{"1", "2"} {
		screenOf(t, 80, "run", "--logbook", "log.db", "normal-cycle", "--seed", seed)
	}
	for _, columns := range []uint16{40, 60, 80} {
		for _, args := range [][]string{{"compare", "last", "last", "--all"}, {"log", "--trend", "stop after limit"}, {"guide", "1"}} {
			if args[0] != "guide" {
				args = append(args, "--logbook", "log.db")
			}
			before := ""
			for line := range strings.Lines(screenOf(t, columns, args...)) {
				line = strings.TrimSuffix(line, "\n")
				indent := func(s string) int { return len(s) - len(strings.TrimLeft(s, " ")) }
				// "at most 250 ms" is one word of four.
				if words := strings.Fields(line); len(words) > 0 && before != "" && indent(line) > 0 && indent(line) == indent(before) && !startsAnew(words[0]) {
					next := strings.Join(words[:min(4, len(words))], " ")
					require.Greater(t, fold.Width(before+" "+next), int(columns), "%v at %d:\n%s\n%s", args, columns, before, line)
				}
				before = line
			}
		}
	}
}

// startsAnew says that a word begins a part of its own, not the rest of what stands above it.
func startsAnew(word string) bool {
	return word == "pass;" || word == "p" || word == "so" || word == "run" || word == "margin:" || strings.HasPrefix(word, "20")
}
