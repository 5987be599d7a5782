package reports

import (
	"bytes"
	"encoding/json"
	"io"
)

// WriteJSON writes what people and other programs are to read as JSON, all of it or
// nothing. Records have a form of their own, which has no room for layout.
func WriteJSON(w io.Writer, what any) error {
	var b bytes.Buffer
	e := json.NewEncoder(&b)
	e.SetEscapeHTML(false)
	e.SetIndent("", "  ")
	if err := e.Encode(what); err != nil {
		return err
	}
	_, err := w.Write(b.Bytes())
	return err
}
