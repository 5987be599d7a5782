package meter

import (
	"errors"
	"os"
	"testing"
	"time"

	"github.com/creack/pty"
	"github.com/stretchr/testify/require"
	"golang.org/x/term"
)

func waiting(t *testing.T) (Port, *os.File) {
	t.Helper()
	master, slave, err := pty.Open()
	require.NoError(t, err)
	t.Cleanup(func() { slave.Close(); master.Close() })
	_, err = term.MakeRaw(int(slave.Fd()))
	require.NoError(t, err)
	port, err := openWaiting(Config{Port: slave.Name(), Protocol: "text"}.Filled())
	require.NoError(t, err)
	require.IsType(t, &waiter{}, port)
	return port, master
}

// A port that is waited at in its own way keeps the port's contract: bytes as they
// come, nothing without an error once the time is over, whatever is shorter or longer
// than a slice.
func TestAWaiterIsAPort(t *testing.T) {
	port, master := waiting(t)
	buf := make([]byte, 100)
	for _, within := range []time.Duration{0, time.Millisecond, slice, 2*slice + time.Millisecond} {
		require.NoError(t, port.SetReadTimeout(within))
		began := time.Now()
		n, err := port.Read(buf)
		require.NoError(t, err)
		require.Zero(t, n)
		require.GreaterOrEqual(t, time.Since(began), within-time.Millisecond)
	}
	for _, within := range []time.Duration{-1, 10 * time.Second} {
		require.NoError(t, port.SetReadTimeout(within))
		time.AfterFunc(3*slice, func() { _, _ = master.WriteString("1.5A\n") })
		n, err := port.Read(buf)
		require.NoError(t, err)
		require.Equal(t, "1.5A\n", string(buf[:n]))
	}
	require.NoError(t, port.Close())
	require.NoError(t, port.Close())
}

// Closing ends a read that waits, and so does the far end when it goes.
func TestAWaiterEnds(t *testing.T) {
	for name, end := range map[string]func(Port, *os.File) error{
		"closed": func(p Port, _ *os.File) error { return p.Close() },
		"gone":   func(_ Port, master *os.File) error { return master.Close() },
	} {
		t.Run(name, func(t *testing.T) {
			port, master := waiting(t)
			defer port.Close()
			require.NoError(t, port.SetReadTimeout(-1))
			read := make(chan error)
			go func() { _, err := port.Read(make([]byte, 10)); read <- err }()
			require.NoError(t, end(port, master))
			require.Error(t, <-read)
			_, err := port.Read(make([]byte, 10))
			require.Error(t, err, "and so does the next one")
		})
	}
}

// A port that is not there is told as ever.
func TestAWaiterTellsAMissingPort(t *testing.T) {
	_, err := openWaiting(Config{Port: "/dev/ttyNOWHERE", Protocol: "text"}.Filled())
	require.ErrorContains(t, err, "is the meter plugged in?")
	require.True(t, errors.Is(err, os.ErrNotExist))
}
