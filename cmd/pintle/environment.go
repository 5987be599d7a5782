package main

import (
	"crypto/sha256"
	"encoding/hex"
	"io"
	"os"
	"runtime"
	"strings"
	"sync"

	"pintle/reports"
)

// programDigest is the SHA-256 of the program's own file, so that a record tells which
// build made it; empty where the file cannot be read.
var programDigest = sync.OnceValue(func() string {
	name, err := os.Executable()
	if err != nil {
		return ""
	}
	f, err := os.Open(name)
	if err != nil {
		return ""
	}
	defer f.Close()
	h := sha256.New()
	if _, err := io.Copy(h, f); err != nil {
		return ""
	}
	return hex.EncodeToString(h.Sum(nil))
})

// environment is the machine that the program runs on. It leaves out what names it.
func environment() *reports.Environment {
	kernel, _ := os.ReadFile("/proc/sys/kernel/osrelease") // only there on Linux, and missed nowhere else
	return &reports.Environment{System: runtime.GOOS, Architecture: runtime.GOARCH, Kernel: strings.TrimSpace(string(kernel)),
		Go: runtime.Version(), Processors: runtime.NumCPU()}
}
