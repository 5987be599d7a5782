package scenarios

import (
	"bufio"
	"encoding/json"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"pintle/rig/need"
)

// An editor with YAML language support is played here by its other half, the YAML
// language server that most editors use, over the Language Server Protocol 3.17
// (base protocol: headers, a blank line, JSON-RPC).
type editor struct {
	t    *testing.T
	in   io.Writer
	said chan map[string]any
	next int
}

func openEditor(t *testing.T, folder string) *editor {
	t.Helper()
	const how = "npm install --prefix DIR yaml-language-server, and set PINTLE_NODE=DIR"
	node := need.Tool(t, "node", "apt-get install nodejs npm")
	server := filepath.Join(os.Getenv("PINTLE_NODE"), "node_modules/yaml-language-server/bin/yaml-language-server")
	if _, err := os.Stat(server); os.Getenv("PINTLE_NODE") == "" || err != nil {
		need.Missing(t, "the YAML language server is not installed", how)
	}
	cmd := exec.Command(node, server, "--stdio")
	in, err := cmd.StdinPipe()
	require.NoError(t, err)
	out, err := cmd.StdoutPipe()
	require.NoError(t, err)
	require.NoError(t, cmd.Start())
	t.Cleanup(func() { _ = cmd.Process.Kill(); _ = cmd.Wait() })
	e := &editor{t: t, in: in, said: make(chan map[string]any, 100)}
	go e.listen(out)
	e.ask("initialize", map[string]any{"processId": os.Getpid(), "rootUri": "file://" + folder, "capabilities": map[string]any{
		"textDocument": map[string]any{"hover": map[string]any{"contentFormat": []string{"plaintext"}}, "completion": map[string]any{}}}})
	e.tell("initialized", map[string]any{})
	return e
}

func (e *editor) listen(out io.Reader) {
	defer close(e.said)
	for r := bufio.NewReader(out); ; {
		length := 0
		for {
			line, err := r.ReadString('\n')
			if err != nil {
				return
			}
			if line = strings.TrimSpace(line); line == "" {
				break
			}
			if v, ok := strings.CutPrefix(line, "Content-Length: "); ok {
				length, _ = strconv.Atoi(v)
			}
		}
		body := make([]byte, length)
		var m map[string]any
		if _, err := io.ReadFull(r, body); err != nil || json.Unmarshal(body, &m) != nil {
			return
		}
		e.said <- m
	}
}

func (e *editor) send(m map[string]any) {
	e.t.Helper()
	m["jsonrpc"] = "2.0"
	body, err := json.Marshal(m)
	require.NoError(e.t, err)
	_, err = fmt.Fprintf(e.in, "Content-Length: %d\r\n\r\n%s", len(body), body)
	require.NoError(e.t, err)
}

func (e *editor) tell(method string, params any) {
	e.t.Helper()
	e.send(map[string]any{"method": method, "params": params})
}

// await waits for what the server says of its own accord or as an answer; what it asks
// in the meantime it is told nothing of.
func (e *editor) await(is func(map[string]any) bool) map[string]any {
	e.t.Helper()
	for late := time.After(60 * time.Second); ; {
		select {
		case m, ok := <-e.said:
			require.True(e.t, ok, "the language server has ended")
			if is(m) {
				return m
			}
			if m["method"] != nil && m["id"] != nil {
				e.send(map[string]any{"id": m["id"], "result": []any{nil, nil, nil, nil}})
			}
		case <-late:
			e.t.Fatal("the language server says nothing")
		}
	}
}

func (e *editor) ask(method string, params any) any {
	e.t.Helper()
	e.next++
	id := e.next
	e.send(map[string]any{"id": id, "method": method, "params": params})
	m := e.await(func(m map[string]any) bool { return m["method"] == nil && m["id"] == float64(id) })
	require.Nil(e.t, m["error"])
	return m["result"]
}

// open shows the server a file and gives what it underlines.
func (e *editor) open(path, text string) (diagnostics string) {
	e.t.Helper()
	uri := "file://" + path
	e.tell("textDocument/didOpen", map[string]any{"textDocument": map[string]any{"uri": uri, "languageId": "yaml", "version": 1, "text": text}})
	m := e.await(func(m map[string]any) bool {
		p, _ := m["params"].(map[string]any)
		return m["method"] == "textDocument/publishDiagnostics" && p["uri"] == uri
	})
	all, err := json.Marshal(m["params"].(map[string]any)["diagnostics"])
	require.NoError(e.t, err)
	return string(all)
}

func (e *editor) at(method, path string, line, column int) string {
	e.t.Helper()
	all, err := json.Marshal(e.ask(method, map[string]any{"textDocument": map[string]any{"uri": "file://" + path},
		"position": map[string]any{"line": line, "character": column}}))
	require.NoError(e.t, err)
	return string(all)
}

// An editor underlines a mistake in a file of a job, says what a word is for, and
// completes it, by nothing but the schema that the file's first line names.
func TestAnEditorKnowsTheFiles(t *testing.T) {
	folder := t.TempDir()
	for name, text := range Starter(equipment) {
		path := filepath.Join(folder, name)
		require.NoError(t, os.MkdirAll(filepath.Dir(path), 0o755))
		require.NoError(t, os.WriteFile(path, text, 0o644))
	}
	e := openEditor(t, folder)
	for _, name := range []string{"bench.yaml", "gate.yaml", "controller.yaml", "scenarios/my-first-scenario.yaml"} {
		require.Equal(t, "[]", e.open(filepath.Join(folder, name), string(Starter(equipment)[name])), "%s is in order", name)
	}

	// Each figure of gate.yaml: what it is for, what it is measured in, its range.
	gate := strings.Split(string(Starter(equipment)["gate.yaml"]), "\n")
	for key, told := range map[string][]string{
		"  run up: 500ms":       {"from standstill to full speed", "a time"},
		"  rebound: 30 %":       {"speed after meeting the stop", "from 0 to 0.95"},
		"    hysteresis: 0.5 %": {"how much further back", "from 0 to 0.5"},
		"    short: 80A":        {"a larger current", "a current", "more than zero"},
	} {
		line := slices.IndexFunc(gate, func(l string) bool { return strings.HasPrefix(l, key) })
		require.GreaterOrEqual(t, line, 0, key)
		shown := e.at("textDocument/hover", filepath.Join(folder, "gate.yaml"), line, 5)
		for _, part := range told {
			require.Contains(t, shown, part, key)
		}
	}

	path := filepath.Join(folder, "scenarios", "mistaken.yaml")
	text := "# yaml-language-server: $schema=../.schema/scenario.schema.json\n" +
		"title: One with mistakes\nwhy: To see them underlined.\ngroup: nobody\nhazrd: None.\nstart: closed\nscript:\n  - \nrules:\n  - absence: motor closing\n"
	wrong := e.open(path, text)
	require.Contains(t, wrong, "hazrd", "a word that is not one")
	require.Contains(t, wrong, "mechanism", "a value that is none of those that may be")
	require.Contains(t, wrong, `"line":3`)

	require.Contains(t, e.at("textDocument/hover", path, 9, 6), "never", "pointing at absence")
	offered := e.at("textDocument/completion", path, 7, 4)
	for _, step := range []string{"press", "await", "wait", "supply"} {
		require.Contains(t, offered, `"label":"`+step)
	}
}
