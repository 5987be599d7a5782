package logbook

import (
	"database/sql"
	"errors"
	"fmt"
	"io"
	"net/url"
	"os"
	"os/exec"
	"os/user"
	"path/filepath"
	"strconv"
	"sync"
	"sync/atomic"
	"syscall"
	"testing"

	"github.com/stretchr/testify/require"

	"pintle/rig/need"
)

// A testServer is a PostgreSQL server of the test's own, on a socket in a folder of its
// own. It dies with the test program: a shell waits for the end of its input.
type testServer struct {
	dir, bin string
	shell    *exec.Cmd
	hold     io.WriteCloser
	schemas  atomic.Int64
}

var (
	server1    *testServer
	serverOnce sync.Once
	serverErr  error
)

const howToServer = "apt-get install postgresql"

// serverBin finds the folder of the server's programs.
func serverBin(t testing.TB) string {
	found, _ := filepath.Glob("/usr/lib/postgresql/*/bin")
	if len(found) == 0 {
		return filepath.Dir(need.Tool(t, "postgres", howToServer))
	}
	return found[len(found)-1]
}

// needServer starts the server, once for all tests.
func needServer(t testing.TB) {
	t.Helper()
	bin := serverBin(t)
	serverOnce.Do(func() {
		server1 = &testServer{bin: bin}
		if serverErr = server1.make(); serverErr == nil {
			serverErr = server1.start()
		}
	})
	require.NoError(t, serverErr, "start a PostgreSQL server")
}

// command is one that runs as somebody who may run a server: root may not.
func (s *testServer) command(name string, args ...string) (*exec.Cmd, error) {
	cmd := exec.Command(name, args...)
	cmd.Dir = s.dir
	if os.Getuid() != 0 {
		return cmd, nil
	}
	who, err := user.Lookup("postgres")
	if err != nil {
		return nil, err
	}
	uid, _ := strconv.Atoi(who.Uid)
	gid, _ := strconv.Atoi(who.Gid)
	cmd.SysProcAttr = &syscall.SysProcAttr{Credential: &syscall.Credential{Uid: uint32(uid), Gid: uint32(gid)}}
	return cmd, os.Chown(s.dir, uid, gid)
}

func (s *testServer) make() (err error) {
	if s.dir, err = os.MkdirTemp("/tmp", "pintle-pg-"); err != nil {
		return err
	}
	cmd, err := s.command(filepath.Join(s.bin, "initdb"), "-D", filepath.Join(s.dir, "data"), "-U", "bench", "-E", "UTF8",
		"--locale=C", "--auth=trust", "--no-sync")
	if err != nil {
		return err
	}
	if out, err := cmd.CombinedOutput(); err != nil {
		return fmt.Errorf("initdb: %w: %s", err, out)
	}
	return nil
}

// start starts the server and waits until it takes sessions.
func (s *testServer) start() error {
	line := fmt.Sprintf(`%s/postgres -D %s/data -k %s -c listen_addresses= -c max_connections=60 >>%s/log 2>&1 & read x; kill -QUIT $!; wait`, s.bin, s.dir, s.dir, s.dir)
	cmd, err := s.command("/bin/sh", "-c", line)
	if err != nil {
		return err
	}
	if s.hold, err = cmd.StdinPipe(); err != nil {
		return err
	}
	if err := cmd.Start(); err != nil {
		return err
	}
	s.shell = cmd
	db, err := sql.Open("pgx", s.address(""))
	if err != nil {
		return err
	}
	defer db.Close()
	for range 100_000 {
		if err = db.Ping(); err == nil {
			return nil
		}
	}
	log, _ := os.ReadFile(filepath.Join(s.dir, "log"))
	return fmt.Errorf("%w: %s", err, log)
}

// stop kills the server without giving it time for anything, as the loss of its
// machine would, but for what the machine has not yet put on its disk.
func (s *testServer) stop() {
	if s.shell != nil {
		s.hold.Close()
		_ = s.shell.Wait()
		s.shell = nil
	}
}

func (s *testServer) address(schema string) string {
	q := url.Values{"host": {s.dir}}
	if schema != "" {
		q.Set("search_path", schema)
	}
	return "postgres://bench:pa55word@/postgres?" + q.Encode()
}

// onServer makes a schema of its own.
func onServer(t testing.TB) string {
	t.Helper()
	schema := fmt.Sprintf("s%d", server1.schemas.Add(1))
	db, err := sql.Open("pgx", server1.address(""))
	require.NoError(t, err)
	defer db.Close()
	_, err = db.Exec("CREATE SCHEMA " + schema)
	require.NoError(t, err)
	return server1.address(schema)
}

// stopServer is for the end of all tests.
func stopServer() {
	if server1 == nil {
		return
	}
	server1.stop()
	if err := os.RemoveAll(server1.dir); err != nil && !errors.Is(err, os.ErrNotExist) {
		fmt.Fprintln(os.Stderr, err)
	}
}
