// Package need finds the outside tools that some tests check the project
// against, so that a test which cannot have its tool says so in one way.
package need

import (
	"os"
	"os/exec"
	"testing"
)

// Tool gives the path of a program, or skips the test saying how to get it. With
// PINTLE_REQUIRE=1 in the environment a missing program is a failure instead.
func Tool(t testing.TB, name, how string) string {
	t.Helper()
	path, err := exec.LookPath(name)
	if err != nil {
		Missing(t, name+" is not installed", how)
	}
	return path
}

// Missing skips the test because of what is missing, or fails it under
// PINTLE_REQUIRE=1.
func Missing(t testing.TB, what, how string) {
	t.Helper()
	if os.Getenv("PINTLE_REQUIRE") == "1" {
		t.Fatalf("%s, and PINTLE_REQUIRE=1 does not let this be skipped; to enable: %s", what, how)
	}
	t.Skipf("skipped: %s; to enable: %s", what, how)
}

// Quiet skips a test that keeps real time and was kept from it by a busy machine.
// With PINTLE_QUIET=1, which says that nothing else is running, it fails instead.
func Quiet(t testing.TB, what string) {
	t.Helper()
	if os.Getenv("PINTLE_QUIET") == "1" {
		t.Fatalf("the machine was too busy to keep real time, and PINTLE_QUIET=1 says that it is not: %s", what)
	}
	t.Skipf("skipped: the machine is too busy to keep real time; to enable: run this test alone, with PINTLE_QUIET=1 (%s)", what)
}
