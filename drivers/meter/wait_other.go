//go:build !linux

package meter

// openWaiting opens an ordinary port: hands work on Linux only.
func openWaiting(c Config) (Port, error) { return OpenPort(c) }
