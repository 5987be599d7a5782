package reliability

import (
	"fmt"
	"strings"
)

// A State is how far a demonstration has come. The zero value is that nothing is
// decided.
type State uint8

// The numbers are written into records: add at the end, never renumber.
const (
	Continue State = 0 // not decided: go on
	Accept   State = 1 // what was to be demonstrated is
	Reject   State = 2 // it is not, and this test is over
)

var states = [...]string{Continue: "continue", Accept: "accept", Reject: "reject"}

// String gives the name, as it stands in JSON.
func (s State) String() string {
	if int(s) < len(states) {
		return states[s]
	}
	return fmt.Sprintf("%d?", uint8(s))
}

// MarshalText writes the name.
func (s State) MarshalText() ([]byte, error) { return []byte(s.String()), nil }

// UnmarshalText reads a name; an unknown one is an error.
func (s *State) UnmarshalText(b []byte) error {
	for i, name := range states {
		if name == string(b) {
			*s = State(i)
			return nil
		}
	}
	return fmt.Errorf("read a state: there is none named %q, only %s", b, strings.Join(states[:], ", "))
}
