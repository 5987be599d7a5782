package record

import "fmt"

// Value gives any part of a run, such as a trial, as canonical JSON. A part that
// holds what cannot be written exactly is refused, with the name of each such field.
func Value(v any) ([]byte, error) {
	out, err := canonical(v, nil)
	if err != nil {
		return nil, fmt.Errorf("canonical form: %w", err)
	}
	return out, nil
}
