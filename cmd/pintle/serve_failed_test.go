package main

import (
	"bytes"
	"context"
	"io"
	"os"
	"path/filepath"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// failingJob is the job that pintle init writes, with a controller that breaks its claims.
func failingJob(t *testing.T) string {
	t.Helper()
	dir := filepath.Join(t.TempDir(), "gate")
	require.Zero(t, pintle(t.Context(), []string{"init", dir}, io.Discard, io.Discard))
	file := filepath.Join(dir, "controller.yaml")
	text, err := os.ReadFile(file)
	require.NoError(t, err)
	bad := bytes.Replace(text, []byte("#defects: [no run-time cut-out]"), []byte("defects: [slow to stop when pressed, no run-time cut-out]"), 1)
	require.NotEqual(t, text, bad)
	require.NoError(t, os.WriteFile(file, bad, 0o600))
	return dir
}

// serveFailed performs what a controller fails: while it runs the page tells how far it
// has come, then what failed, by how much and why; the bench's last check stands beside.
func serveFailed(t *testing.T, chrome context.Context) {
	dir := failingJob(t)
	status := pintle(t.Context(), []string{"check", dir, "--bench", "--quick"}, io.Discard, io.Discard)
	require.Contains(t, []int{statusPass, statusInconclusive}, status)
	s := startServing(t, dir, "--port", "0")
	b := newTab(t, chrome)
	b.open(s.address, 1280, 900)
	b.says("wire", "connected")
	checked := eval[string](b, "document.getElementById('check').textContent")
	assert.Regexp(t, `^(pass|inconclusive), \d{4}-\d\d-\d\d: could not be told: `, checked, "the last check of the bench, with its date")
	b.full("press-in-mid-travel", 3)
	b.says("phase", "fail")
	b.until("document.querySelectorAll('#rules .v-fail').length > 0")
	b.until("document.querySelectorAll('#latest .v-fail').length === 3")
	b.picture("failed")
	b.axe("failed")
	eval[bool](b, "document.querySelector('#runs button').click() || true")
	b.says("shownText", "fail")
	b.do(chromedp.Click("#shownCharts summary"))
	b.until("document.querySelector('#shownCharts img').naturalWidth > 100")
	b.picture("failed-shown")
	b.axe("failed, shown")
	eval[bool](b, "[...document.querySelectorAll('#runs button')].find((b) => b.textContent === 'Certificate').click() || true")
	b.says("pastSays", "is downloaded")
	b.do(chromedp.EmulateViewport(360, 740))
	assert.LessOrEqual(t, eval[int](b, "document.documentElement.scrollWidth"), 360, "nothing goes beyond the side")
	eval[bool](b, "document.querySelector('#runs button').click() || true")
	b.until("document.getElementById('shownText').textContent.split('\\n').every((l) => l.length <= 46)")
	assert.True(t, eval[bool](b, "document.getElementById('shownText').scrollWidth <= document.getElementById('shownText').clientWidth"), "what is said of a run is read without scrolling sideways")
	b.picture("failed-phone")
	b.do(chromedp.EmulateViewport(1280, 900))
	b.do(chromedp.SetValue("#trials", "50"), chromedp.SetValue("#pace", "20"))
	b.do(chromedp.Click("#start"))
	b.until("/^[1-9]\\d* of 50 trials, \\d+(\\.\\d)? (s|min|h) left$/.test(document.getElementById('progressText').textContent)")
	b.until("document.getElementById('progress').max === 50 && document.getElementById('progress').value >= 1")
	b.says("tally", "fail")
	b.picture("failing")
	b.do(chromedp.Click("#stop"))
	b.says("phase", "interrupted")
	b.clean()
}
