package main

import (
	"bytes"
	"compress/gzip"
	"fmt"
	"io"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"sort"
	"strings"
	"syscall"
	"testing"

	"github.com/stretchr/testify/require"

	"pintle/rig/need"
)

// repository is the folder with go.mod.
const repository = "../.."

// TestPackage builds the Debian package of the working tree, for amd64, and looks at it
// from all sides.
func TestPackage(t *testing.T) {
	if testing.Short() {
		t.Skip("skipped: it builds three packages, about a minute; to enable: run without -short")
	}
	tarball := cleanTarball(t)
	deb, err := buildPackage(repository, t.TempDir(), "022")
	require.NoError(t, err)
	root := t.TempDir()
	must(t, exec.Command("dpkg-deb", "-x", deb, root))
	t.Run("comes and goes", func(t *testing.T) { comesAndGoes(t, unpackRoot(t, tarball), deb) })
	t.Run("rights", func(t *testing.T) { requireRights(t, unpackRoot(t, tarball), deb) })
	t.Run("pages", func(t *testing.T) { requirePages(t, root) })
	t.Run("completion", func(t *testing.T) { requireCompletion(t, root) })
	t.Run("unit starts nothing", func(t *testing.T) { requireQuietUnit(t, root) })
	t.Run("lintian", func(t *testing.T) { requireLintian(t, deb) })
	t.Run("reproducible", requireReproducible)
}

// cleanTarball is where a clean Debian root is kept, one that knows nothing of the
// package.
func cleanTarball(t *testing.T) string {
	t.Helper()
	for _, tool := range []string{"git", "dpkg-deb", "tar", "chroot"} {
		need.Tool(t, tool, "apt-get install git dpkg tar coreutils")
	}
	if os.Getuid() != 0 || runtime.GOARCH != "amd64" {
		need.Missing(t, "the package is installed by root on amd64 only", "run this test as root there")
	}
	if _, err := os.Stat(filepath.Join(repository, ".git")); err != nil {
		need.Missing(t, "this is no git checkout, so the package has no version", "git clone")
	}
	path, err := exec.Command(filepath.Join(repository, ".deb/clean-root"), "--path").Output()
	require.NoError(t, err)
	tarball := strings.TrimSpace(string(path))
	if _, err := os.Stat(tarball); err != nil {
		need.Missing(t, "there is no clean Debian root", "apt-get install mmdebstrap; .deb/clean-root")
	}
	return tarball
}

func unpackRoot(t *testing.T, tarball string) string {
	t.Helper()
	root := t.TempDir()
	must(t, exec.Command("tar", "-xf", tarball, "-C", root))
	return root
}

// buildPackage gives the path of the package that it puts into a folder.
func buildPackage(source, dir, umask string, env ...string) (string, error) {
	cmd := exec.Command("sh", "-c", `umask "$0"; exec "$@"`, umask, filepath.Join(source, ".deb/build"), "amd64", dir)
	cmd.Env = append(os.Environ(), env...)
	var errs bytes.Buffer
	cmd.Stderr = &errs
	out, err := cmd.Output()
	if err != nil {
		return "", fmt.Errorf("build the package: %w\n%s", err, errs.String())
	}
	return strings.TrimSpace(string(out)), nil
}

// must runs a command that must succeed, and gives what it says.
func must(t *testing.T, cmd *exec.Cmd) string {
	t.Helper()
	cmd.Env = append(os.Environ(), "LC_ALL=C", "PATH=/usr/sbin:/usr/bin:/sbin:/bin", "DEBIAN_FRONTEND=noninteractive")
	out, err := cmd.CombinedOutput()
	require.NoError(t, err, "%v\n%s", cmd.Args, out)
	return string(out)
}

func in(root string, args ...string) *exec.Cmd {
	return exec.Command("chroot", append([]string{root}, args...)...)
}

// A state is what there is in a root: by path, kind, mode, owner and link.
type state map[string]string

func stateOf(t *testing.T, root string) state {
	t.Helper()
	s := state{}
	require.NoError(t, filepath.WalkDir(root, func(path string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		info, err := d.Info()
		if err != nil {
			return err
		}
		rel, err := filepath.Rel(root, path)
		if err != nil {
			return err
		}
		stat := info.Sys().(*syscall.Stat_t)
		link, _ := os.Readlink(path)
		s[rel] = fmt.Sprint(info.Mode(), stat.Uid, ":", stat.Gid, link)
		return nil
	}))
	return s
}

// changes are the paths that are not alike in two states.
func changes(a, b state) []string {
	var paths []string
	for p := range b {
		if a[p] != b[p] {
			paths = append(paths, p)
		}
	}
	for p := range a {
		if _, ok := b[p]; !ok {
			paths = append(paths, p)
		}
	}
	sort.Strings(paths)
	return paths
}

// books are dpkg's and adduser's own, not the package's.
func books(path string) bool {
	for _, p := range []string{"etc/passwd", "etc/group", "etc/shadow", "etc/gshadow", "etc/subuid", "etc/subgid",
		"etc/.pwd.lock", "run/adduser", "var/lib/dpkg", "var/log", "var/cache/ldconfig", "tmp/pintle.deb"} {
		if path == p || path == p+"-" || strings.HasPrefix(path, p+"/") {
			return true
		}
	}
	return false
}

func ofThePackage(paths []string) (own []string) {
	for _, p := range paths {
		if !books(p) {
			own = append(own, p)
		}
	}
	return own
}

// comesAndGoes: the package goes in, does its work for a user without privileges, and
// goes out.
func comesAndGoes(t *testing.T, root, deb string) {
	data, err := os.ReadFile(deb)
	require.NoError(t, err)
	require.NoError(t, os.WriteFile(filepath.Join(root, "tmp/pintle.deb"), data, 0o644))
	calls := listenForSystemd(t, root)
	before := stateOf(t, root)

	must(t, in(root, "dpkg", "-i", "/tmp/pintle.deb"))
	require.Equal(t, []string{"--system daemon-reload"}, calls(), "nothing is started, nothing enabled")
	requireShipped(t, root, before)
	requireUser(t, root)
	requireRun(t, root)
	must(t, in(root, "dpkg", "-i", "/tmp/pintle.deb")) // once more changes nothing
	require.Equal(t, []string{"stop pintle-run@*.service", "--system daemon-reload"}, calls())
	require.Empty(t, must(t, in(root, "dpkg", "--verify", "pintle")))

	// Removed, it leaves its settings and what it has found out; purged, the latter.
	must(t, in(root, "dpkg", "-r", "pintle"))
	require.Equal(t, []string{"stop pintle-run@*.service", "--system daemon-reload (gone)"}, calls(),
		"runs are stopped while the program is still there")
	left := ofThePackage(changes(before, stateOf(t, root)))
	require.Contains(t, left, "etc/security/limits.d/pintle.conf")
	require.NotContains(t, left, "usr/bin/pintle")
	require.Contains(t, must(t, in(root, "dpkg", "-P", "pintle")), "may be evidence")
	for _, p := range ofThePackage(changes(before, stateOf(t, root))) {
		require.True(t, p == "var/lib" || strings.HasPrefix(p, "var/lib/pintle"), p)
	}
	require.FileExists(t, filepath.Join(root, "var/lib/pintle/pintle-demo/logbook.db"))

	// Where nothing was found out, nothing stays but the user and the groups.
	require.NoError(t, os.RemoveAll(filepath.Join(root, "var/lib/pintle/pintle-demo")))
	must(t, in(root, "dpkg", "-i", "/tmp/pintle.deb"))
	must(t, in(root, "dpkg", "-P", "pintle"))
	require.Empty(t, ofThePackage(changes(before, stateOf(t, root))))
	require.Contains(t, must(t, in(root, "getent", "passwd", "pintle")), "/usr/sbin/nologin")
	require.NotContains(t, must(t, in(root, "dpkg", "-l")), "pintle")
}

// listenForSystemd puts a systemctl into the root that writes down what it is asked, and
// whether the program was there then. It gives the calls since the last time.
func listenForSystemd(t *testing.T, root string) (calls func() []string) {
	t.Helper()
	require.NoError(t, os.MkdirAll(filepath.Join(root, "run/systemd/system"), 0o755))
	script := "#!/bin/sh\n[ -e /usr/bin/pintle ] || gone=' (gone)'\necho \"$*$gone\" >>/tmp/calls\n"
	require.NoError(t, os.WriteFile(filepath.Join(root, "usr/bin/systemctl"), []byte(script), 0o755))
	said := filepath.Join(root, "tmp/calls")
	require.NoError(t, os.WriteFile(said, nil, 0o644))
	return func() []string {
		b, err := os.ReadFile(said)
		require.NoError(t, err)
		require.NoError(t, os.Truncate(said, 0))
		return strings.Split(strings.TrimSpace(string(b)), "\n")
	}
}

// requireShipped holds what came with the package to the list of what should.
func requireShipped(t *testing.T, root string, before state) {
	t.Helper()
	after := stateOf(t, root)
	want := map[string]string{
		"usr/bin/pintle":                                  "-rwxr-xr-x0:0",
		"etc/security/limits.d/pintle.conf":               "-rw-r--r--0:0",
		"usr/lib/systemd/system/pintle-run@.service":      "-rw-r--r--0:0",
		"usr/lib/udev/rules.d/60-pintle.rules":            "-rw-r--r--0:0",
		"usr/share/bash-completion/completions/pintle":    "-rw-r--r--0:0",
		"usr/share/zsh/vendor-completions/_pintle":        "-rw-r--r--0:0",
		"usr/share/fish/vendor_completions.d/pintle.fish": "-rw-r--r--0:0",
		"usr/share/man/man1/pintle.1.gz":                  "-rw-r--r--0:0",
		"usr/share/man/man1/pintle-run.1.gz":              "-rw-r--r--0:0",
		"usr/share/doc/pintle/copyright":                  "-rw-r--r--0:0",
		"usr/share/doc/pintle/notices.gz":                 "-rw-r--r--0:0",
		"usr/share/doc/pintle/changelog.gz":               "-rw-r--r--0:0",
		"usr/share/doc/pintle/README.Debian":              "-rw-r--r--0:0",
		"usr/share/lintian/overrides/pintle":              "-rw-r--r--0:0",
	}
	for path, mode := range want {
		require.Equal(t, mode, strings.ReplaceAll(after[path], " ", ""), path)
	}
	for _, p := range ofThePackage(changes(before, after)) {
		_, listed := want[p]
		folder := strings.HasPrefix(after[p], "d") && !strings.Contains(p, "systemd/system/")
		page := strings.HasPrefix(p, "usr/share/man/man1/pintle-")
		require.True(t, listed || folder || page, "%s is not to be shipped", p)
		require.NotContains(t, after[p], "rwxrwxrwx", p)
		// Nothing makes it start: no link into a target's wants.
		require.False(t, strings.HasPrefix(p, "etc/systemd"), p)
	}
	require.Empty(t, must(t, in(root, "dpkg", "--verify", "pintle")))
}

func requireUser(t *testing.T, root string) {
	t.Helper()
	groups := strings.Fields(must(t, in(root, "id", "-nG", "pintle")))
	require.ElementsMatch(t, []string{"pintle", "gpio", "dialout"}, groups)
	require.Contains(t, must(t, in(root, "getent", "passwd", "pintle")), ":/var/lib/pintle:/usr/sbin/nologin")
	require.Regexp(t, `^pintle:[!*]`, must(t, in(root, "getent", "shadow", "pintle")), "nobody logs in as it")
	require.Equal(t, "2775 pintle:pintle\n", must(t, in(root, "stat", "-c", "%a %U:%G", "/var/lib/pintle")))
}

// requireRun has the user perform the demo: the whole job, on a fresh machine.
func requireRun(t *testing.T, root string) {
	t.Helper()
	out := must(t, in(root, "su", "-s", "/bin/sh", "pintle", "-c", "cd && id -u && pintle run && ls -l pintle-demo"))
	require.NotEqual(t, "0", strings.SplitN(out, "\n", 2)[0], "root needs no limits")
	require.Contains(t, out, "pass")
	require.Contains(t, out, "certificate.pdf")
}

// requirePages: the pages are clean, and there for every command that help names.
func requirePages(t *testing.T, root string) {
	mandoc := need.Tool(t, "mandoc", "apt-get install mandoc")
	pages, err := filepath.Glob(filepath.Join(root, "usr/share/man/man1/*.1.gz"))
	require.NoError(t, err)
	require.Len(t, pages, len((&app{}).root().Commands())+1-hidden(), "a page for each command, and one for all")
	for _, p := range pages {
		f, err := os.Open(p)
		require.NoError(t, err)
		z, err := gzip.NewReader(f)
		require.NoError(t, err)
		require.True(t, z.ModTime.IsZero(), "no date of packing in %s", p)
		text, err := io.ReadAll(z)
		require.NoError(t, err)
		require.NoError(t, f.Close())
		cmd := exec.Command(mandoc, "-T", "lint", "-W", "warning")
		cmd.Stdin = bytes.NewReader(text)
		out, err := cmd.CombinedOutput()
		require.NoError(t, err, "%s: %s", p, out)
	}
	man := need.Tool(t, "man", "apt-get install man-db")
	page := must(t, exec.Command(man, "-l", filepath.Join(root, "usr/share/man/man1/pintle-run.1.gz")))
	require.Contains(t, page, "--demonstrate")
}

func hidden() (n int) {
	for _, c := range (&app{}).root().Commands() {
		if c.Hidden || c.Name() == "completion" || c.Name() == "help" {
			n++
		}
	}
	return n
}

// requireCompletion: each shell, having read what the package ships, completes a command
// and a scenario.
func requireCompletion(t *testing.T, root string) {
	path := "PATH=" + filepath.Join(root, "usr/bin") + ":/usr/bin:/bin"
	ask := func(shell, script string) string {
		t.Helper()
		tool := need.Tool(t, shell, "apt-get install "+shell)
		cmd := exec.Command(tool, "-c", script)
		cmd.Env = append(os.Environ(), path)
		cmd.Dir = t.TempDir()
		out, err := cmd.CombinedOutput()
		require.NoError(t, err, string(out))
		return string(out)
	}
	file := func(p string) string { return filepath.Join(root, "usr/share", p) }
	t.Run("bash", func(t *testing.T) {
		// The only thing that it takes from bash-completion is where the cursor is.
		out := ask("bash", `
_get_comp_words_by_ref() { words=("${COMP_WORDS[@]}"); cword=$COMP_CWORD; cur=${COMP_WORDS[COMP_CWORD]}; prev=${COMP_WORDS[COMP_CWORD-1]}; }
. `+file("bash-completion/completions/pintle")+`
complete -p pintle
try() { COMP_WORDS=("$@"); COMP_CWORD=$(($#-1)); COMP_LINE="$*"; COMP_POINT=${#COMP_LINE}; COMP_TYPE=9; COMP_KEY=9; COMPREPLY=(); __start_pintle; echo "${COMPREPLY[@]}"; }
try pintle pro; try pintle run normal-c`)
		require.Contains(t, out, "prove")
		require.Contains(t, out, "normal-cycle")
	})
	t.Run("fish", func(t *testing.T) {
		out := ask("fish", "source "+file("fish/vendor_completions.d/pintle.fish")+"; complete -C 'pintle pro'; complete -C 'pintle run normal-c'")
		require.Contains(t, out, "prove")
		require.Contains(t, out, "normal-cycle")
	})
	t.Run("zsh", func(t *testing.T) {
		// Completion runs within the line editor alone: the list that it would show is taken.
		out := ask("zsh", "fpath=("+file("zsh/vendor-completions")+" $fpath); autoload -Uz compinit; compinit -u -D; "+
			"echo $_comps[pintle]; autoload +X _pintle; _describe() { print -l -- ${(P)2} }; "+
			"words=(pintle pro); CURRENT=2; _pintle; words=(pintle run normal-c); CURRENT=3; _pintle")
		require.Contains(t, out, "_pintle")
		require.Contains(t, out, "prove")
		require.Contains(t, out, "normal-cycle")
	})
}

// requireQuietUnit: the machine cannot start the unit on its own.
func requireQuietUnit(t *testing.T, root string) {
	unit, err := os.ReadFile(filepath.Join(root, "usr/lib/systemd/system/pintle-run@.service"))
	require.NoError(t, err)
	settings := map[string]bool{}
	for _, l := range strings.Split(string(unit), "\n") {
		settings[l] = true
	}
	require.False(t, settings["[Install]"])
	for _, want := range []string{"User=pintle", "Restart=no", "LimitRTPRIO=80", "LimitMEMLOCK=infinity"} {
		require.True(t, settings[want], want)
	}
	units, err := filepath.Glob(filepath.Join(root, "usr/lib/systemd/system/*"))
	require.NoError(t, err)
	require.Len(t, units, 1)
	analyze := need.Tool(t, "systemd-analyze", "apt-get install systemd")
	// The program and the page that it names are not installed on this machine.
	text := strings.ReplaceAll(string(unit), "/usr/bin/pintle", filepath.Join(root, "usr/bin/pintle"))
	text = strings.ReplaceAll(text, "Documentation=man:pintle-run(1)\n", "")
	copied := filepath.Join(t.TempDir(), "pintle-run@.service")
	require.NoError(t, os.WriteFile(copied, []byte(text), 0o644))
	require.Empty(t, must(t, exec.Command(analyze, "verify", copied)))
}

func requireLintian(t *testing.T, deb string) {
	t.Helper()
	lintian := need.Tool(t, "lintian", "apt-get install lintian")
	out := must(t, exec.Command(lintian, "--allow-root", "--fail-on", "error,warning", deb))
	require.Empty(t, out)
}

// requireReproducible: two clones in two folders, built with two users' habits, give the
// same bytes.
func requireReproducible(t *testing.T) {
	var packages [][]byte
	for _, env := range [][]string{
		{"TZ=Pacific/Auckland", "LC_ALL=C", "GOFLAGS=-p=1"},
		{"TZ=UTC", "LC_ALL=C.UTF-8", "GOAMD64=v3", "GOMAXPROCS=1"},
	} {
		clone := filepath.Join(t.TempDir(), "pintle")
		must(t, exec.Command("git", "clone", "--quiet", repository, clone))
		deb, err := buildPackage(clone, t.TempDir(), []string{"002", "077"}[len(packages)], env...)
		require.NoError(t, err)
		data, err := os.ReadFile(deb)
		require.NoError(t, err)
		packages = append(packages, data)
	}
	require.True(t, bytes.Equal(packages[0], packages[1]), "the two packages differ")
}
