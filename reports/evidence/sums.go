package evidence

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"strings"

	"pintle/reports/merkle"
)

// A sum is one line of SHA256SUMS.
type sum struct {
	digest string
	name   string
}

// line is the text that the leaf is of.
func (s sum) line() string { return s.digest + "  " + s.name }

func digestOf(b []byte) string {
	d := sha256.Sum256(b)
	return hex.EncodeToString(d[:])
}

// total gives the text of SHA256SUMS and its tree hash.
func total(sums []sum) ([]byte, merkle.Hash) {
	var text bytes.Buffer
	var tree merkle.Tree
	for _, s := range sums {
		tree.Add(merkle.Leaf([]byte(s.line())))
		text.WriteString(s.line())
		text.WriteByte('\n')
	}
	return text.Bytes(), tree.Root()
}

// leaves are the leaf hashes of all lines.
func leaves(sums []sum) []merkle.Hash {
	all := make([]merkle.Hash, len(sums))
	for i, s := range sums {
		all[i] = merkle.Leaf([]byte(s.line()))
	}
	return all
}

// readSums reads SHA256SUMS. Its lines have to be in the order of entries.
func readSums(text []byte) ([]sum, error) {
	var all []sum
	for number := 1; len(text) > 0; number++ {
		line, rest, ended := bytes.Cut(text, []byte("\n"))
		digest, name, ok := strings.Cut(string(line), "  ")
		if _, err := merkle.Parse(digest); err != nil || !ok || !ended {
			return nil, fmt.Errorf("%s: %w: line %d is not a digest, two blanks and a name", sumsName, ErrForm, number)
		}
		all, text = append(all, sum{digest, name}), rest
	}
	return all, inOrder(all)
}

// inOrder checks the names: run.json, then each trial, with its trace after it.
func inOrder(sums []sum) error {
	if len(sums) == 0 || sums[0].name != runName {
		return fmt.Errorf("%s: %w: it does not begin with %s", sumsName, ErrForm, runName)
	}
	seen := make(map[string]bool, len(sums))
	for _, s := range sums[1:] {
		if _, err := readPlace(s.name); err != nil {
			return fmt.Errorf("%s: %w", sumsName, err)
		}
		if seen[s.name] {
			return fmt.Errorf("%s: %w: %s", sumsName, ErrDuplicate, s.name)
		}
		seen[s.name] = true
	}
	var last place
	for _, s := range sums[1:] {
		p, err := readPlace(s.name)
		if err != nil {
			return err
		}
		if err := follows(last, p, seen); err != nil {
			return fmt.Errorf("%s: %w", sumsName, err)
		}
		last = p
	}
	return nil
}

// follows checks that a place may come after another; all are the names that there are.
func follows(last, p place, all map[string]bool) error {
	own := p
	own.trace = false
	switch {
	case p.trace && !all[own.name()]:
		return fmt.Errorf("%w: %s, whose trace is there", ErrRemoved, own.name())
	case p.compare(last) <= 0, p.trace && last != own:
		return fmt.Errorf("%w: %s comes after %s", ErrReordered, p.name(), last.name())
	}
	return nil
}
