package main

import (
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/rogpeppe/go-internal/testscript"

	"pintle/drivers/pi/hands"
)

var update = flag.Bool("update", false, "rewrite what the scripts expect")

// asOther is what else the test program may have been started to be.
var asOther func()

func TestMain(m *testing.M) {
	hands.Main() // the test program is its own hands, as pintle is
	if asOther != nil {
		asOther()
	}
	testscript.Main(m, map[string]func(){
		"pintle": func() { os.Exit(pintle(stoppable(), os.Args[1:], os.Stdout, os.Stderr)) },
	})
}

// TestScripts drives the command as a user does: each script is a call or two,
// with what is printed, which files are there and the exit status.
func TestScripts(t *testing.T) {
	scripts, err := filepath.Glob("testdata/*.txtar")
	if err != nil || len(scripts) == 0 {
		t.Fatalf("no scripts under testdata (%v); were they moved?", err)
	}
	testscript.Run(t, testscript.Params{
		Files:         scripts,
		UpdateScripts: *update,
		Setup:         func(e *testscript.Env) error { e.Setenv("LC_ALL", "C.UTF-8"); return nil },
		// [required] holds where no test may be skipped for want of a tool.
		Condition: func(cond string) (bool, error) {
			if cond != "required" {
				return false, fmt.Errorf("there is no condition %q", cond)
			}
			return os.Getenv("PINTLE_REQUIRE") == "1", nil
		},
		Cmds: map[string]func(*testscript.TestScript, bool, []string){
			"status": status,
			"same":   same,
			"edit":   edit,
			"glob":   glob,
			"mode600": func(ts *testscript.TestScript, neg bool, args []string) {
				info, err := os.Stat(ts.MkAbs(args[0]))
				ts.Check(err)
				if (info.Mode() == 0o600) == neg {
					ts.Fatalf("%s has mode %v", args[0], info.Mode())
				}
			},
		},
	})
}

// status N COMMAND ... runs a command and wants it to end with exit status N.
func status(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) < 2 {
		ts.Fatalf("usage: status N COMMAND [ARG...]")
	}
	got := 0
	if err := ts.Exec(args[1], args[2:]...); err != nil {
		got = -1
		if e, ok := err.(interface{ ExitCode() int }); ok {
			got = e.ExitCode()
		}
	}
	if fmt.Sprint(got) != args[0] {
		ts.Fatalf("%v ended with status %d, want %s", args[1:], got, args[0])
	}
}

// glob VARIABLE PATTERN sets a variable to the one file that has such a name.
func glob(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 2 {
		ts.Fatalf("usage: glob VARIABLE PATTERN")
	}
	found, err := filepath.Glob(ts.MkAbs(args[1]))
	ts.Check(err)
	if len(found) != 1 {
		ts.Fatalf("%s is %v, want one file", args[1], found)
	}
	ts.Setenv(args[0], found[0])
}

// edit FILE OLD NEW puts NEW in the place of OLD, which must be there once.
func edit(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 3 {
		ts.Fatalf("usage: edit FILE OLD NEW")
	}
	text := ts.ReadFile(args[0])
	if n := strings.Count(text, args[1]); n != 1 {
		ts.Fatalf("%q stands %d times in %s, want once", args[1], n, args[0])
	}
	ts.Check(os.WriteFile(ts.MkAbs(args[0]), []byte(strings.Replace(text, args[1], args[2], 1)), 0o644))
}

// differing are the fields of a record that may differ between two runs of one job.
var differing = regexp.MustCompile(`"(began|ended|id|programDigest)":"[^"]*"|"environment":{[^}]*}`)

// same A B wants two records to be the same but for the fields that may differ. What
// was told on the way came in the order in which workers were done with it.
func same(ts *testscript.TestScript, neg bool, args []string) {
	if len(args) != 2 {
		ts.Fatalf("usage: same RECORD RECORD")
	}
	a := differing.ReplaceAllString(lastLine(ts.ReadFile(args[0])), "")
	b := differing.ReplaceAllString(lastLine(ts.ReadFile(args[1])), "")
	if len(a) < 1000 || (a == b) == neg {
		ts.Fatalf("records %s and %s: same is %v", args[0], args[1], a == b)
	}
}

func lastLine(text string) string {
	text = strings.TrimSuffix(text, "\n")
	return text[strings.LastIndexByte(text, '\n')+1:]
}
