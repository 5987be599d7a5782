package vm

import (
	"crypto/sha256"
	_ "embed"
	"encoding/hex"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strings"
	"testing"

	"pintle/rig/need"
)

//go:embed kernel.config
var config []byte

// KernelPath is where the kernel of this configuration is kept once it is built:
// pintle/kernel-DIGEST/bzImage in the user's cache folder.
func KernelPath() (string, error) {
	cache, err := os.UserCacheDir()
	if err != nil {
		return "", fmt.Errorf("find the cache folder for the test kernel: %w", err)
	}
	sum := sha256.Sum256(config)
	return filepath.Join(cache, "pintle", "kernel-"+hex.EncodeToString(sum[:8]), "bzImage"), nil
}

// kernel gives the built kernel. Only under PINTLE_REQUIRE=1 is a missing one built.
func kernel(t testing.TB) string {
	t.Helper()
	path, err := KernelPath()
	if err != nil {
		t.Fatal(err)
	}
	if _, err := os.Stat(path); err == nil {
		return path
	}
	if os.Getenv("PINTLE_REQUIRE") != "1" {
		need.Missing(t, "the test kernel is not built", "sh drivers/pi/vm/build-kernel.sh, once on this machine (about 6 minutes)")
	}
	_, here, _, _ := runtime.Caller(0)
	out, err := exec.Command("sh", filepath.Join(filepath.Dir(here), "build-kernel.sh")).CombinedOutput()
	if err != nil {
		t.Fatalf("build the test kernel: %v\n%s", err, out)
	}
	if _, err := os.Stat(path); err != nil {
		t.Fatalf("the test kernel was built somewhere else: %v\n%s", err, strings.TrimSpace(string(out)))
	}
	return path
}
