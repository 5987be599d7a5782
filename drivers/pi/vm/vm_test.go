package vm

import (
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"pintle/drivers/pi/vm/guest"
)

// What a test of the guest says comes out, and so does whether it passed.
func TestInsideTheVirtualMachine(t *testing.T) {
	r := Tests(t, "pintle/drivers/pi/vm", "^TestGuest")
	require.Contains(t, r.Output, "seen from the inside")
}

func TestExitStatusComesOut(t *testing.T) {
	binary := filepath.Join(t.TempDir(), "guest.test")
	kernel(t)
	build(t, "test", "-c", "-o", binary, "pintle/drivers/pi/vm")
	r := Options{Env: []string{"GUEST_STATUS=7"}}.Run(t, binary, "-test.run=^TestGuestStatus$")
	require.Equal(t, 7, r.Status, r.Output)
}

func TestGuestStatus(t *testing.T) {
	guest.Only(t)
	if os.Getenv("GUEST_STATUS") == "7" {
		os.Exit(7)
	}
}

func TestGuestWitness(t *testing.T) {
	guest.Only(t)
	c := guest.NewChip(t, "sim", "a", "b")
	w := guest.Watch(t, c)
	require.Empty(t, w.Edges())
	c.Pull(1, true)
	require.True(t, c.Level(1))
	c.Pull(1, false)
	require.False(t, c.Level(1))
	t.Log("seen from the inside")
}

func TestStatusOfQEMU(t *testing.T) {
	for _, c := range []struct {
		code, want int
		bad        bool
	}{{0, 0, true}, {1, 0, true}, {2, 0, true}, {3, 0, false}, {5, 1, false}, {4, 0, true}, {253, 125, false}} {
		var err error
		if c.code != 0 {
			err = exec.Command("sh", "-c", "exit $0", fmt.Sprint(c.code)).Run()
		}
		got, err := status(err)
		if c.bad {
			require.Error(t, err, "code %d", c.code)
			continue
		}
		require.NoError(t, err, "code %d", c.code)
		require.Equal(t, c.want, got, "code %d", c.code)
	}
	_, err := status(errors.New("not started"))
	require.ErrorContains(t, err, "not started")
}

// The archive is held to the system's own reader of this form.
func TestArchiveReads(t *testing.T) {
	path, err := exec.LookPath("cpio")
	if err != nil {
		t.Skip("skipped: cpio is not installed; to enable: apt-get install cpio")
	}
	cmd := exec.Command(path, "-i", "-t", "--quiet")
	f, err := os.CreateTemp(t.TempDir(), "cpio")
	require.NoError(t, err)
	_, err = f.Write(archive([]entry{{"dev", 0o040755, nil}, {"args", 0o100644, []byte("x")}, {"odd-name", 0o100755, []byte("four!")}}))
	require.NoError(t, err)
	_, err = f.Seek(0, 0)
	require.NoError(t, err)
	cmd.Stdin = f
	out, err := cmd.CombinedOutput()
	require.NoError(t, err, string(out))
	require.Equal(t, "dev\nargs\nodd-name\n", string(out))
}
