package schema

import (
	"bytes"
	"encoding/json"
)

// An object is a JSON object that keeps the order of its members, because editors
// offer keys in the order in which a schema has them.
type object []member

type member struct {
	key   string
	value any
}

func (o *object) put(key string, value any) { *o = append(*o, member{key, value}) }

// MarshalJSON writes the members in their order.
func (o object) MarshalJSON() ([]byte, error) {
	var b bytes.Buffer
	b.WriteByte('{')
	for i, m := range o {
		if i > 0 {
			b.WriteByte(',')
		}
		key, err := plain(m.key)
		if err != nil {
			return nil, err
		}
		value, err := plain(m.value)
		if err != nil {
			return nil, err
		}
		b.Write(key)
		b.WriteByte(':')
		b.Write(value)
	}
	b.WriteByte('}')
	return b.Bytes(), nil
}

// plain writes JSON without escapes for HTML.
func plain(v any) ([]byte, error) {
	var b bytes.Buffer
	e := json.NewEncoder(&b)
	e.SetEscapeHTML(false)
	if err := e.Encode(v); err != nil {
		return nil, err
	}
	return bytes.TrimRight(b.Bytes(), "\n"), nil
}

// indented writes a schema for people to read.
func indented(o object) ([]byte, error) {
	line, err := plain(o)
	if err != nil {
		return nil, err
	}
	var b bytes.Buffer
	if err := json.Indent(&b, line, "", "  "); err != nil {
		return nil, err
	}
	b.WriteByte('\n')
	return b.Bytes(), nil
}
