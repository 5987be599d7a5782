package main

import (
	"bytes"
	"encoding/binary"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"pintle/drivers/pi/vm"
)

// requireLimits: with the package installed, a login of the user pintle has what the
// hands ask for, and no more; another user has nothing of it. It takes a kernel of one's
// own, since a container may not let even root raise a limit.
func requireLimits(t *testing.T, root, deb string) {
	t.Helper()
	must(t, exec.Command("cp", deb, filepath.Join(root, "tmp/pintle.deb")))
	must(t, in(root, "dpkg", "-i", "/tmp/pintle.deb"))
	program := filepath.Join(root, "usr/bin/inroot")
	build := exec.Command("go", "build", "-o", program, "./testdata/inroot")
	build.Env = append(os.Environ(), "CGO_ENABLED=0", "GOOS=linux", "GOARCH=amd64")
	out, err := build.CombinedOutput()
	require.NoError(t, err, string(out))

	guest := filepath.Join(t.TempDir(), "guest")
	require.NoError(t, os.WriteFile(guest, withRoot(t, program, root), 0o755))
	line := `su -s /bin/sh pintle -c 'echo for pintle; ulimit -r; ulimit -l; inroot try; cd && pintle run normal-cycle'; echo status $?; su -s /bin/sh games -c 'echo for games; inroot try'`
	r := vm.Options{MiB: 768, Timeout: 3 * time.Minute}.Run(t, guest, line)
	require.Zero(t, r.Status, r.Output)
	said := strings.ReplaceAll(r.Output, "\r", "")
	_, said, _ = strings.Cut(said, "for pintle\n")
	mine, others, both := strings.Cut(said, "for games\n")
	require.True(t, both, r.Output)
	require.Contains(t, mine, "80\nunlimited\npriority 80: <nil>\npriority 81: operation not permitted\nmemory: <nil>\n")
	require.Contains(t, mine, "1 scenario: 1 pass")
	require.Contains(t, mine, "status 0")
	require.Contains(t, others, "priority 80: operation not permitted\npriority 81: operation not permitted\nmemory: ")
	require.NotContains(t, others, "memory: <nil>")
}

// withRoot is a program with as much of a root behind it as a login takes: the shell, su,
// its modules, the libraries of both, and the package.
func withRoot(t *testing.T, program, root string) []byte {
	t.Helper()
	parts := []string{"bin", "sbin", "lib", "lib64", "etc", "var/lib/pintle",
		"usr/bin/su", "usr/bin/sh", "usr/bin/dash", "usr/bin/pintle", "usr/bin/inroot", "usr/lib64"}
	for _, pattern := range []string{"security", "ld-*.so*", "lib[cm].so*", "libpam*.so*", "libaudit.so*", "libcap-ng.so*",
		"libnss_files.so*", "libcrypt.so*", "libselinux.so*", "libpcre2-8.so*"} {
		parts = append(parts, found(t, root, "usr/lib/x86_64-linux-gnu/"+pattern)...)
	}
	var pack, errs bytes.Buffer
	cmd := exec.Command("tar", append([]string{"--numeric-owner", "-C", root, "-cf", "-"}, parts...)...)
	cmd.Stdout, cmd.Stderr = &pack, &errs
	require.NoError(t, cmd.Run(), errs.String())
	data, err := os.ReadFile(program)
	require.NoError(t, err)
	return binary.BigEndian.AppendUint64(append(data, pack.Bytes()...), uint64(pack.Len()))
}

// found gives the paths in a root that match a pattern.
func found(t *testing.T, root, pattern string) (within []string) {
	t.Helper()
	paths, err := filepath.Glob(filepath.Join(root, pattern))
	require.NoError(t, err)
	require.NotEmpty(t, paths, pattern)
	for _, p := range paths {
		rel, err := filepath.Rel(root, p)
		require.NoError(t, err)
		within = append(within, rel)
	}
	return within
}
