package main

import (
	"bytes"
	"encoding/binary"
	"maps"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"pintle/drivers/pi/vm"
)

// inGuest makes a GPIO chip, has the package's rules applied to it and to a serial port,
// and lets two users try what the hands need.
const inGuest = `mkdir -p /sys/kernel/config/gpio-sim/sim/bank && echo 8 >/sys/kernel/config/gpio-sim/sim/bank/num_lines && ` +
	`echo 1 >/sys/kernel/config/gpio-sim/sim/live; stat -c 'before: %a %U:%G' /dev/gpiochip0; ` +
	`for d in /sys/bus/gpio/devices/gpiochip0 /sys/class/tty/ttyS1; do udevadm test --action=add $d 2>&1 | grep pintle; done; ` +
	`stat -c 'after: %a %U:%G' /dev/gpiochip0 /dev/ttyS1; ` +
	`su -s /bin/sh pintle -c 'echo for pintle; ulimit -r; ulimit -l; inroot try; cd && pintle run normal-cycle'; echo status $?; ` +
	`su -s /bin/sh games -c 'echo for games; inroot try'`

// requireRights: with the package installed, a login of the user pintle has what the
// hands ask for, and no more; another user has nothing of it. It takes a kernel of one's
// own, since a container has no GPIO and may not let even root raise a limit.
func requireRights(t *testing.T, root, deb string) {
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
	r := vm.Options{MiB: 768, Timeout: 8 * time.Minute, UARTs: true}.Run(t, guest, inGuest)
	require.Zero(t, r.Status, r.Output)
	said := strings.ReplaceAll(r.Output, "\r", "")
	rules, said, _ := strings.Cut(said, "for pintle\n")
	require.Contains(t, rules, "before: 600 root:root\n")
	require.Contains(t, rules, "after: 660 root:gpio\nafter: 660 root:dialout\n")
	require.Contains(t, rules, "Reading rules file: /usr/lib/udev/rules.d/60-pintle.rules")
	require.NotRegexp(t, `60-pintle.rules:\d+ .*([Ii]nvalid|[Uu]nknown|ignoring)`, rules)
	mine, others, both := strings.Cut(said, "for games\n")
	require.True(t, both, r.Output)
	require.Contains(t, mine, "80\nunlimited\npriority 80: <nil>\npriority 81: operation not permitted\nmemory: <nil>\nopen: <nil>\nopen: <nil>\n")
	require.Contains(t, mine, "1 scenario: 1 pass")
	require.Contains(t, mine, "status 0")
	require.Contains(t, others, "priority 80: operation not permitted\npriority 81: operation not permitted\nmemory: ")
	require.Contains(t, others, "open: open /dev/gpiochip0: permission denied\nopen: open /dev/ttyS1: permission denied\n")
	require.NotContains(t, others, "<nil>")
}

// withRoot is a program with as much of a root behind it as a login takes: the shell, su,
// its modules, the libraries of both, and the package.
func withRoot(t *testing.T, program, root string) []byte {
	t.Helper()
	parts := []string{"bin", "sbin", "lib", "lib64", "etc", "var/lib/pintle", "usr/lib/udev/rules.d", "usr/bin/pintle", "usr/bin/inroot"}
	linked := found(t, root, "usr/lib/x86_64-linux-gnu/security/pam_*.so")
	for _, p := range []string{"su", "sh", "dash", "mkdir", "stat", "grep", "udevadm"} {
		linked = append(linked, "usr/bin/"+p)
	}
	parts = append(append(parts, linked...), libraries(t, root, linked)...)
	var pack, errs bytes.Buffer
	cmd := exec.Command("tar", append([]string{"--numeric-owner", "--hard-dereference", "-C", root, "-cf", "-"}, parts...)...)
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

var aLibrary = regexp.MustCompile(`(?m)(/\S+) \(0x`)

// libraries gives the libraries that programs and modules are linked with, and what
// their names link to, each once.
func libraries(t *testing.T, root string, linked []string) []string {
	t.Helper()
	names := map[string]bool{}
	for _, m := range aLibrary.FindAllStringSubmatch(must(t, in(root, append([]string{"ldd"}, linked...)...)), -1) {
		names["/usr"+strings.TrimPrefix(m[1], "/usr")] = true // /lib is a link to usr/lib
	}
	within := map[string]bool{}
	for name := range names {
		within[name[1:]] = true
		at, err := filepath.EvalSymlinks(filepath.Join(root, name))
		require.NoError(t, err)
		rel, err := filepath.Rel(root, at)
		require.NoError(t, err)
		within[rel] = true
	}
	return slices.Sorted(maps.Keys(within))
}
