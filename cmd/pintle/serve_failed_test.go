package main

import (
	"bytes"
	"context"
	"fmt"
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

// tabAll goes round the page by Tab and wants each control that is seen on the way, with
// its focus seen.
func (b *tab) tabAll() {
	b.Helper()
	eval[bool](b, "(document.activeElement.blur(), document.querySelectorAll('[data-tabbed]').forEach((e) => delete e.dataset.tabbed), true)")
	for range 120 {
		b.key("Tab", 9, "")
		seen := eval[string](b, `(() => { const e = document.activeElement, s = getComputedStyle(e);
			if (e === document.body) return ''; // beyond the last; the first comes next
			if (e.dataset.tabbed) return 'round';
			e.dataset.tabbed = 'yes';
			return s.outlineStyle !== 'none' && parseFloat(s.outlineWidth) >= 2 ? '' : 'no focus is seen on ' + e.outerHTML.slice(0, 80); })()`)
		if seen == "round" {
			break
		}
		require.Empty(b, seen)
	}
	left := eval[string](b, `[...document.querySelectorAll('a[href], button:not([disabled]), input, select, summary, [tabindex="0"]')]
		.filter((e) => e.checkVisibility() && !e.dataset.tabbed).map((e) => e.outerHTML.slice(0, 80)).join()`)
	require.Empty(b, left, "never reached by Tab")
}

// pressed puts the focus on a button with a text, which tabAll has found to be reached, and
// presses Enter.
func (b *tab) pressed(text string) {
	b.Helper()
	require.True(b, eval[bool](b, fmt.Sprintf("(() => { const e = [...document.querySelectorAll('[data-tabbed]')].find((e) => e.textContent === %q); if (e) e.focus(); return !!e; })()", text)), text)
	b.key("Enter", 13, "\r")
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
	b.tabAll()
	b.pressed("Show")
	b.says("shownText", "fail")
	b.tabAll()
	b.pressed("✗ fail A press in mid-travel")
	b.until("document.querySelector('#shownCharts img').naturalWidth > 100")
	b.picture("failed-shown")
	b.axe("failed, shown")
	b.tabAll()
	b.pressed("Certificate")
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
