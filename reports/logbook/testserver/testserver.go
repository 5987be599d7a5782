// Package testserver starts a PostgreSQL server for the tests of what keeps a logbook in one.
package testserver

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
	"time"

	_ "github.com/jackc/pgx/v5/stdlib" // the driver
	"github.com/stretchr/testify/require"

	"pintle/rig/need"
)

// A Server is a PostgreSQL server of the test's own, on a socket in a folder of its own.
// It dies with the test program: a shell waits for the end of its input.
type Server struct {
	dir, bin string
	shell    *exec.Cmd
	hold     io.WriteCloser
	schemas  atomic.Int64
}

var (
	one *Server
	mu  sync.Mutex
)

// Need starts the server, once for all tests of a program, or skips the test where there is
// none to start. The program ends with Stop.
func Need(t testing.TB) *Server {
	t.Helper()
	bin := programs(t)
	mu.Lock()
	defer mu.Unlock()
	if one == nil {
		s := &Server{bin: bin}
		require.NoError(t, s.make(), "make a PostgreSQL server")
		require.NoError(t, s.Start(), "start a PostgreSQL server")
		one = s
	}
	return one
}

// programs finds the folder of the server's programs.
func programs(t testing.TB) string {
	found, _ := filepath.Glob("/usr/lib/postgresql/*/bin")
	if len(found) == 0 {
		return filepath.Dir(need.Tool(t, "postgres", "apt-get install postgresql"))
	}
	return found[len(found)-1]
}

// command is one that runs as somebody who may run a server: root may not.
func (s *Server) command(name string, args ...string) (*exec.Cmd, error) {
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

func (s *Server) make() (err error) {
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

// Start starts the server and waits until it takes sessions.
func (s *Server) Start() error {
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
	db, err := sql.Open("pgx", s.Address(""))
	if err != nil {
		return err
	}
	defer db.Close()
	for end := time.Now().Add(time.Minute); time.Now().Before(end); time.Sleep(time.Millisecond) {
		if err = db.Ping(); err == nil {
			return nil
		}
	}
	log, _ := os.ReadFile(filepath.Join(s.dir, "log"))
	return fmt.Errorf("%w: %s", err, log)
}

// Kill kills the server without giving it time for anything, as the loss of its
// machine would, but for what the machine has not yet put on its disk.
func (s *Server) Kill() {
	if s.shell != nil {
		s.hold.Close()
		_ = s.shell.Wait()
		s.shell = nil
	}
}

// Address is that of a schema, or of the database where none is named.
func (s *Server) Address(schema string) string {
	q := url.Values{"host": {s.dir}}
	if schema != "" {
		q.Set("search_path", schema)
	}
	return "postgres://bench:pa55word@/postgres?" + q.Encode()
}

// Schema makes a schema of its own, and gives its address.
func (s *Server) Schema(t testing.TB) string {
	t.Helper()
	schema := fmt.Sprintf("s%d", s.schemas.Add(1))
	db, err := sql.Open("pgx", s.Address(""))
	require.NoError(t, err)
	defer db.Close()
	_, err = db.Exec("CREATE SCHEMA " + schema)
	require.NoError(t, err)
	return s.Address(schema)
}

// Stop is for the end of all tests.
func Stop() {
	mu.Lock()
	defer mu.Unlock()
	if one == nil {
		return
	}
	one.Kill()
	if err := os.RemoveAll(one.dir); err != nil && !errors.Is(err, os.ErrNotExist) {
		fmt.Fprintln(os.Stderr, err)
	}
	one = nil
}
