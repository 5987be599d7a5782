package evidence

import (
	"bytes"
	"encoding/json"
	"strings"

	"pintle/reports/record"
)

// A Part is one entry, for the tests that forge records.
type Part struct {
	Name string
	Data []byte
}

// Pack lays parts out as a record does, whatever they are.
func Pack(parts []Part) []byte {
	var b bytes.Buffer
	p := &packer{w: &b}
	for _, part := range parts {
		if err := p.add(part.Name, part.Data); err != nil {
			panic(err)
		}
	}
	if err := p.close(); err != nil {
		panic(err)
	}
	return b.Bytes()
}

// Resum makes SHA256SUMS and head.json anew, for what a forger put into the other
// parts, and signs them if sign is there.
func Resum(parts []Part, sign Signer, change func(*Head)) []Part {
	var sums []sum
	var rest []Part
	var h Head
	for _, part := range parts {
		switch part.Name {
		case headName:
			if err := json.Unmarshal(part.Data, &h); err != nil {
				panic(err)
			}
		case signName, sumsName:
		default:
			sums = append(sums, sum{digestOf(part.Data), part.Name})
			rest = append(rest, part)
		}
	}
	text, root := total(sums)
	h.Leaves, h.Root, h.Sums = len(sums), root.String(), digestOf(text)
	if change != nil {
		change(&h)
	}
	head, err := record.Value(h)
	if err != nil {
		panic(err)
	}
	front := []Part{{headName, head}}
	if sign != nil {
		signature, err := sign(head, h.Comment())
		if err != nil {
			panic(err)
		}
		front = append(front, Part{signName, signature})
	}
	return append(append(front, Part{sumsName, text}), rest...)
}

// Most is the most bytes that an entry may have.
func Most(name string) int64 { return most(name) }

// Resign is Resum with lines of SHA256SUMS that change changes before they are summed up.
func Resign(parts []Part, change func(line string) string) []Part {
	parts = Resum(parts, nil, nil)
	var sums []sum
	for line := range strings.Lines(string(parts[1].Data)) {
		digest, name, _ := strings.Cut(strings.TrimSuffix(change(line), "\n"), "  ")
		sums = append(sums, sum{digest, name})
	}
	text, root := total(sums)
	var h Head
	if err := json.Unmarshal(parts[0].Data, &h); err != nil {
		panic(err)
	}
	h.Root, h.Sums = root.String(), digestOf(text)
	head, err := record.Value(h)
	if err != nil {
		panic(err)
	}
	parts[0].Data, parts[1].Data = head, text
	return parts
}
