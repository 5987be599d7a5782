package vm

import (
	"path/filepath"
	"strings"
	"testing"
)

// Benchmarks builds the test binary of a package, runs those of its benchmarks in the
// virtual machine that match the pattern, and logs their figures. These compare with
// one another only: the machine is an emulated one.
func Benchmarks(b *testing.B, pkg, pattern string) {
	b.Helper()
	kernel(b)
	binary := filepath.Join(b.TempDir(), "guest.test")
	build(b, "test", "-c", "-o", binary, pkg)
	r := Run(b, binary, "-test.run=^$", "-test.benchmem", "-test.benchtime=2000x", "-test.bench="+pattern)
	if r.Status != 0 || !strings.Contains(r.Output, "ns/op") {
		b.Fatalf("benchmarks in the virtual machine ended with status %d:\n%s", r.Status, r.Output)
	}
	b.Log("\n" + r.Output)
}
