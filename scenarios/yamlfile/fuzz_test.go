package yamlfile

import (
	"reflect"
	"testing"
	"unicode/utf8"
)

// Whatever the bytes, decoding ends, says the same twice, and points into the file.
func FuzzDecode(f *testing.F) {
	for _, seed := range []string{
		"title: x\n", "title: &a x\non: *a\n", "title: x\nparts:\n  - size: 1\n", "named: {a: {size: 1}}\ntitle: 'é'\n", "\ufefftitle: x\r\non: y",
		"title: \"a\\tb\"\n", "? [a]\n: b\n", "title: |\n  a\n  b\n", "{{{{", "a: 1\n--- \nb", "%YAML 1.2\n---\ntitle: x\n...\n", "\x00\xff", "title: x\n\tparts:",
	} {
		f.Add([]byte(seed))
	}
	f.Fuzz(func(t *testing.T, text []byte) {
		file := New("f", text)
		var a, b sample
		bad, again := Decode(file, &a, nil), Decode(New("f", text), &b, nil)
		if !reflect.DeepEqual(bad, again) {
			t.Fatalf("%q: %v, then %v", text, bad, again)
		}
		for _, m := range bad {
			if m.Line < 1 || m.Line > file.lineCount() || m.Col < 1 || m.Col > utf8.RuneCountInString(file.Line(m.Line))+1 || m.Text == "" || m.File != "f" {
				t.Fatalf("%q: the mistake %+v points outside", text, m)
			}
			_ = m.Error()
		}
		if bad == nil && !a.Title.Given() {
			t.Fatalf("%q: neither a title nor a mistake", text)
		}
	})
}
