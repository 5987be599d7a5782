package record

import (
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"time"

	"github.com/gowebpki/jcs"

	"pintle/reports"
)

// Canonical gives a run as canonical JSON.
func Canonical(run *reports.Run) ([]byte, error) {
	plain, err := json.Marshal(run)
	if err != nil {
		return nil, fmt.Errorf("record of run %s: %w", run.ID, err)
	}
	out, err := jcs.Transform(plain)
	if err != nil {
		return nil, fmt.Errorf("record of run %s: put into canonical form: %w", run.ID, err)
	}
	return out, nil
}

// Differing names the fields that may differ between two runs of the same job
// with the same seed: who the run is, and what the clock on the wall said.
var Differing = []string{"id", "began", "ended"}

// Comparable is Canonical of a run without the fields that Differing names.
func Comparable(run *reports.Run) ([]byte, error) {
	same := *run
	same.ID, same.Began, same.Ended = "", time.Time{}, time.Time{}
	return Canonical(&same)
}

// Digest is the SHA-256 of a run's canonical JSON, in hexadecimal digits.
func Digest(run *reports.Run) (string, error) {
	text, err := Canonical(run)
	if err != nil {
		return "", err
	}
	sum := sha256.Sum256(text)
	return hex.EncodeToString(sum[:]), nil
}
