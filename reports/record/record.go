package record

import (
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"slices"

	"github.com/gowebpki/jcs"

	"pintle/reports"
)

// Canonical gives a run as canonical JSON. A run that holds what cannot be written
// exactly is refused, with the name of each such field.
func Canonical(run *reports.Run) ([]byte, error) {
	out, err := canonical(run, nil)
	if err != nil {
		return nil, fmt.Errorf("record of run %s: %w", run.ID, err)
	}
	return out, nil
}

// Differing names the fields that may differ between two runs of the same job
// with the same seed: who the run is, what the clock on the wall said, and what machine
// and what build of the program performed it.
var Differing = []string{"id", "began", "ended", "programDigest", "environment"}

// untold are those of them that an older program did not tell.
var untold = []string{"programDigest", "environment"}

// Comparable is Canonical without the fields that Differing names.
func Comparable(run *reports.Run) ([]byte, error) {
	out, err := canonical(run, Differing)
	if err != nil {
		return nil, fmt.Errorf("comparable record of run %s: %w", run.ID, err)
	}
	return out, nil
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

// canonical writes a value without the fields named.
func canonical(v any, without []string) ([]byte, error) {
	if err := exact(v); err != nil {
		return nil, err
	}
	plain, err := json.Marshal(v)
	if err != nil {
		return nil, err
	}
	if len(without) > 0 {
		if plain, err = drop(plain, without); err != nil {
			return nil, err
		}
	}
	out, err := jcs.Transform(plain)
	if err != nil {
		return nil, fmt.Errorf("put into canonical form: %w", err)
	}
	return out, nil
}

// drop takes fields out of a JSON object. A field that is not there is a mistake
// in this program, since the fields dropped must always be known.
func drop(object []byte, names []string) ([]byte, error) {
	var fields map[string]json.RawMessage
	if err := json.Unmarshal(object, &fields); err != nil {
		return nil, err
	}
	for _, name := range names {
		if _, ok := fields[name]; !ok && !slices.Contains(untold, name) {
			return nil, fmt.Errorf("there is no field %q to leave out", name)
		}
		delete(fields, name)
	}
	return json.Marshal(fields)
}
