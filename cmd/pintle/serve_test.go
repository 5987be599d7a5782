package main

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pintle/rig/need"
)

// serveHome gives the test a configuration folder of its own, and a folder to be in.
func serveHome(t *testing.T) {
	t.Helper()
	t.Chdir(t.TempDir())
	t.Setenv("XDG_CONFIG_HOME", t.TempDir())
}

// TestServe drives the real page in a real browser.
func TestServe(t *testing.T) {
	if testing.Short() {
		t.Skip("a browser takes its time")
	}
	serveHome(t)
	chrome := browser(t)
	t.Run("start, watch, stop", func(t *testing.T) { serveStartWatchStop(t, chrome) })
	t.Run("the rules fill in, and past runs are read", func(t *testing.T) { servePastRuns(t, chrome) })
	t.Run("it comes back after a restart", func(t *testing.T) { serveRestart(t, chrome) })
	t.Run("two look, one operates", func(t *testing.T) { serveTwo(t, chrome) })
	t.Run("more tabs than a browser has connections", func(t *testing.T) { serveTabs(t, chrome) })
	t.Run("on a phone", func(t *testing.T) { servePhone(t, chrome) })
	t.Run("by keyboard alone", func(t *testing.T) { serveKeyboard(t, chrome) })
	t.Run("what looks like a mistake is told", func(t *testing.T) { serveWarned(t, chrome) })
	t.Run("a run that fails", func(t *testing.T) { serveFailed(t, chrome) })
	t.Run("without the token", func(t *testing.T) { serveNoToken(t, chrome) })
}

func serveStartWatchStop(t *testing.T, chrome context.Context) {
	s := startServing(t, "--port", "0")
	b := newTab(t, chrome)
	b.open(s.address, 1280, 900)
	b.says("wire", "connected")
	assert.True(t, eval[bool](b, "document.getElementById('warned').hidden"), "there is nothing to warn of")
	assert.NotContains(t, eval[string](b, "location.href"), "token", "the token is not left in the address")
	b.says("phase", "Idle")
	b.says("about", "virtual bench: a rehearsal with a simulated controller, no evidence about any hardware")
	b.picture("idle")
	b.axe("idle")
	b.do(chromedp.SetValue("#pace", "5"))
	b.do(chromedp.Click("#start"))
	b.says("phase", "Running")
	b.until("pintle.paper.readings.n > 6000")
	b.says("seat", "This page has the controls")
	b.says("said", "supply on")
	assert.Contains(t, eval[string](b, "document.getElementById('strip').getAttribute('aria-label')"), "supply on", "the picture's text goes with it")
	inStep(b)
	b.picture("running")
	b.axe("running")
	b.do(chromedp.Click("#stop"))
	b.says("phase", "void (the run was interrupted)")
	b.until("document.querySelectorAll('#runs tr').length >= 1")
	b.picture("stopped")
	require.Empty(t, b.text("refused"))
	b.media("prefers-reduced-motion", "reduce")
	b.until("matchMedia('(prefers-reduced-motion: reduce)').matches")
	b.startRun()
	b.until("pintle.paper.readings.n > 8000")
	rate := eval[float64](b, `new Promise((done) => { const n = pintle.strip.frames, at = performance.now();
		setTimeout(() => done((pintle.strip.frames - n) / (performance.now() - at) * 1000), 2000); })`)
	assert.LessOrEqual(t, rate, 2.0, "who wants less motion is shown a picture a second")
	b.do(chromedp.Click("#stop"))
	b.says("phase", "interrupted")
	b.media("prefers-color-scheme", "dark")
	b.until("pintle.strip.c.paper === '#211d14'")
	b.picture("dark")
	b.axe("dark")
	b.clean()
}

// inStep sees that the words under the chart go with it, and that what a screen reader
// calls it does not change all the time.
func inStep(b *tab) {
	b.Helper()
	said := eval[[]float64](b, `new Promise((done) => {
		const n = [0, 0], began = performance.now();
		new MutationObserver(() => n[0]++).observe(document.getElementById('said'), {childList: true});
		new MutationObserver(() => n[1]++).observe(document.getElementById('strip'), {attributeFilter: ['aria-label']});
		const look = () => {
			const took = performance.now() - began;
			if (took >= 3000 && n[0] > 4 || took > 20000) done([...n, took / 1000]);
			else setTimeout(look, 20);
		};
		look();
	})`)
	assert.Greater(b, said[0], 4.0, "in three seconds, or more on a busy machine")
	assert.LessOrEqual(b, said[0], 1+4*said[2], "no more than four times a second")
	assert.LessOrEqual(b, said[1], 1+said[2]/2, "no more than once in two seconds")
	assert.Empty(b, eval[string](b, "document.getElementById('said').closest('[aria-live], [role=status], [role=alert]')?.id || ''"), "nobody is read that aloud")
}

// full starts a run as fast as can be, of one scenario, and waits for its end.
func (b *tab) full(scenario string, trials int) {
	b.Helper()
	eval[bool](b, fmt.Sprintf(`(() => {
		for (const i of document.querySelectorAll('#scenarios input')) i.checked = i.value === %q;
		document.getElementById('trials').value = %d;
		document.getElementById('pace').value = '0';
		return true;
	})()`, scenario, trials))
	had := eval[int](b, "document.querySelectorAll('#runs tr').length")
	b.do(chromedp.Click("#start"))
	b.until(fmt.Sprintf("document.querySelectorAll('#runs tr').length === %d", had+1))
}

func servePastRuns(t *testing.T, chrome context.Context) {
	s := startServing(t, "--port", "0", "--log", filepath.Join(t.TempDir(), "log.db"))
	b := newTab(t, chrome)
	b.open(s.address, 1280, 900)
	b.says("wire", "connected")
	b.full("normal-cycle", 3)
	b.says("phase", "pass")
	b.until("document.querySelectorAll('#rules .v-pass').length === document.querySelectorAll('#rules tr').length && document.querySelectorAll('#rules tr').length > 2")
	b.until("document.querySelectorAll('#latest li').length === 3")
	b.picture("settled")
	b.full("normal-cycle", 3)
	b.until("document.querySelectorAll('#runs input').length === 2")
	eval[bool](b, "document.querySelectorAll('#runs input').forEach((i) => i.click()) || true")
	b.do(chromedp.Click("#compare"))
	b.says("shownH", "From run")
	b.until("document.querySelector('#shownCharts img').naturalWidth > 100")
	b.picture("compared")
	b.axe("compared")
	eval[bool](b, "document.querySelector('#runs button').click() || true")
	b.until("document.querySelector('#shownCharts summary')")
	b.do(chromedp.Click("#shownCharts summary"))
	b.until("document.querySelector('#shownCharts img').naturalWidth > 100")
	b.picture("shown")
	for _, paper := range []struct{ name, begins string }{{"certificate", "%PDF-"}, {"report", "<!doctype html>"}} {
		got := eval[string](b, fmt.Sprintf(`pintle.wire.get('/api/%s?run=' + document.querySelector('#runs td:nth-child(2)').textContent).then((r) => r.text()).then((t) => t.slice(0, 15))`, paper.name))
		assert.Contains(t, strings.ToLower(got), strings.ToLower(paper.begins)[:5], paper.name)
	}
	b.clean()
}

func serveRestart(t *testing.T, chrome context.Context) {
	s := startServing(t, "--port", "0")
	port := s.port()
	b := newTab(t, chrome)
	b.open(s.address, 1280, 900)
	b.says("wire", "connected")
	b.do(chromedp.Click("#start"))
	b.until("pintle.paper.readings.n > 500")
	s.end(t)
	b.says("wire", "not connected; the picture is")
	b.until("+/is (\\d+) s/.exec(document.getElementById('wire').textContent)[1] >= 2")
	b.picture("broken")
	startServing(t, "--port", port)
	b.until("document.getElementById('wire').textContent === 'connected'")
	b.says("phase", "Idle")
	b.until("[...document.querySelectorAll('#runs .v-void')].length >= 1")
	b.until("!document.getElementById('earlier').hidden")
	b.says("earlierText", "The paper begins anew with each start of the program. The run before it, ")
	b.says("earlierText", "(void), is in the logbook")
	assert.Equal(t, "Nothing on the paper yet.", b.text("said"), "what was told before the restart is not so any more")
	assert.Equal(t, "Nothing is being performed.", b.text("scenario"))
	assert.Zero(t, eval[int](b, "document.querySelectorAll('#rules tr').length"))
	b.picture("restarted")
	b.axe("restarted")
	b.do(chromedp.Click("#earlierShow"))
	b.says("shownH", "Run 2")
	b.do(chromedp.Click("#start"))
	b.until("pintle.paper.readings.n > 500")
	b.until("document.getElementById('earlier').hidden")
	b.do(chromedp.Click("#stop"))
	b.says("phase", "interrupted")
}

func serveTwo(t *testing.T, chrome context.Context) {
	s := startServing(t, "--port", "0")
	one, two := newTab(t, chrome), newTab(t, chrome)
	one.open(s.address, 1280, 900)
	two.open(s.address, 1280, 900)
	one.says("seat", "2 pages look")
	one.do(chromedp.Click("#operate"))
	one.says("seat", "This page has the controls")
	two.says("operate", "Take over the controls")
	assert.True(t, eval[bool](two, "document.getElementById('start').disabled"))
	status := eval[int](two, `pintle.wire.act('/api/start', {scenarios: [], trials: 1, seed: 1, pace: 1}).then(() => 200, (e) => e.status)`)
	assert.Equal(t, http.StatusConflict, status, "it is the server that refuses")
	one.do(chromedp.Click("#start"))
	two.until("pintle.paper.readings.n > 500")
	two.picture("second")
	two.do(chromedp.Click("#operate"))
	one.says("seat", "Another page has the controls")
	one.do(chromedp.Click("#stop"))
	two.says("phase", "interrupted")
	assert.True(t, eval[bool](one, "document.getElementById('start').disabled"), "to stop it needs no controls; to start it does")
}

// serveTabs opens more tabs of one browser than it makes connections to one server. The
// last ones wait, and STOP comes through.
func serveTabs(t *testing.T, chrome context.Context) {
	s := startServing(t, "--port", "0")
	var tabs []*tab
	for i := range 7 {
		b := newTab(t, chrome)
		b.open(s.address, 800, 600)
		if i < 4 {
			b.says("wire", "connected")
		} else {
			b.says("wire", "4 tabs of this browser show the bench already")
		}
		tabs = append(tabs, b)
	}
	tabs[0].startRun()
	tabs[1].do(chromedp.Click("#stop"))
	tabs[0].says("phase", "interrupted")
	for _, gone := range []int{2, 4, 5} {
		tabs[gone].do(chromedp.Navigate("about:blank"))
	}
	tabs[6].says("wire", "connected")
}

func servePhone(t *testing.T, chrome context.Context) {
	s := startServing(t, "--port", "0")
	b := newTab(t, chrome)
	b.open(s.address, 360, 740)
	b.says("wire", "connected")
	b.do(chromedp.Click("#start"))
	b.until("pintle.paper.readings.n > 2500")
	b.until("document.querySelectorAll('#rules tr').length > 1")
	assert.LessOrEqual(t, eval[int](b, "document.documentElement.scrollWidth"), 360, "nothing goes beyond the side")
	assert.Empty(t, eval[string](b, "[...document.querySelectorAll('.scroll')].filter((e) => e.scrollWidth > e.clientWidth).map((e) => e.ariaLabel).join()"), "no table scrolls sideways")
	assert.True(t, eval[bool](b, `(() => { window.scrollTo(0, 1500); const r = document.getElementById('stop').getBoundingClientRect();
		return r.top >= 0 && r.bottom <= innerHeight && r.width > 250 && r.height >= 60; })()`), "the stop stays in sight, and is large")
	small := eval[string](b, `[...document.querySelectorAll('button, select, input')].filter((e) => e.offsetParent && Math.min(e.getBoundingClientRect().width, e.getBoundingClientRect().height) < 20)
		.map((e) => e.outerHTML).join()`)
	assert.Empty(t, small, "nothing is too small for a thumb")
	eval[bool](b, "(window.scrollTo(0, 0), true)")
	b.picture("phone")
	for _, size := range []struct {
		name       string
		wide, high int64
	}{{"400 %", 320, 225}, {"200 %", 640, 450}} {
		b.do(chromedp.EmulateViewport(size.wide, size.high))
		assert.LessOrEqual(t, eval[int](b, "document.documentElement.scrollWidth"), int(size.wide), "a screen of 1280 by 900 at %s", size.name)
		assert.True(t, eval[bool](b, `(() => { window.scrollTo(0, 700); const r = document.getElementById('stop').getBoundingClientRect();
			return r.top >= 0 && r.bottom <= innerHeight && r.right <= innerWidth && r.width > 100 && r.height < 0.4 * innerHeight; })()`), "the stop stays in sight at %s and leaves room for the rest", size.name)
		b.axe(size.name)
		b.picture(fmt.Sprintf("wide-%d", size.wide))
	}
	b.do(chromedp.EmulateViewport(360, 740))
	b.axe("phone")
	b.do(chromedp.Click("#stop"))
	b.says("phase", "interrupted")
	b.clean()
}

// serveWarned serves a job with a claim that looks like another: whoever starts a run on
// the page is warned of it as at the terminal, and so is who looks at the run afterwards.
func serveWarned(t *testing.T, chrome context.Context) {
	dir := filepath.Join(t.TempDir(), "gate")
	require.Zero(t, pintle(t.Context(), []string{"init", dir}, io.Discard, io.Discard))
	file := filepath.Join(dir, "controller.yaml")
	text, err := os.ReadFile(file)
	require.NoError(t, err)
	require.NoError(t, os.WriteFile(file, bytes.Replace(text, []byte("  stop after beam:"), []byte("  stop after baem:"), 1), 0o600))
	s := startServing(t, dir, "--port", "0")
	b := newTab(t, chrome)
	b.open(s.address, 1280, 900)
	b.says("wire", "connected")
	b.says("warnings", `did you mean "stop after beam"?`)
	b.full("normal-cycle", 1)
	eval[bool](b, "document.querySelector('#runs button').click() || true")
	b.says("shownText", `Warning: no built-in scenario asks for the claim "stop after baem"`)
	b.picture("warned")
	b.axe("warned")
	b.clean()
}

// key presses a key as a keyboard does.
func (b *tab) key(name string, code int64, text string) {
	b.Helper()
	b.do(chromedp.Func(func(ctx context.Context, t *chromedp.Target) error {
		for _, kind := range []input.DispatchKeyEventType{input.DispatchKeyEventTypeKeyDown, input.DispatchKeyEventTypeKeyUp} {
			p := input.DispatchKeyEventParams{Type: kind, Key: name, Code: name, WindowsVirtualKeyCode: code}
			if kind == input.DispatchKeyEventTypeKeyDown {
				p.Text = text
			}
			if _, err := cdp.Call(ctx, t, input.DispatchKeyEvent, p); err != nil {
				return err
			}
		}
		return nil
	}))
}

// tabTo goes on by Tab until an element has the focus, and sees that each on the way
// shows it.
func (b *tab) tabTo(id string) {
	b.Helper()
	for range 60 {
		b.key("Tab", 9, "")
		seen := eval[string](b, `(() => { const e = document.activeElement, s = getComputedStyle(e); return e.id + ' ' + s.outlineStyle + ' ' + parseFloat(s.outlineWidth); })()`)
		var is, style string
		var width float64
		parts := strings.Split(seen, " ")
		is, style = parts[0], parts[1]
		_, _ = fmt.Sscan(parts[2], &width)
		require.True(b, style != "none" && width >= 2, "the focus is seen: %s", seen)
		if is == id {
			return
		}
	}
	require.Fail(b, "never reached by Tab", id)
}

func serveKeyboard(t *testing.T, chrome context.Context) {
	s := startServing(t, "--port", "0")
	b := newTab(t, chrome)
	b.open(s.address, 1280, 900)
	b.says("wire", "connected")
	b.key("Tab", 9, "")
	assert.Equal(t, "Skip to stop", eval[string](b, "document.activeElement.textContent"))
	b.key("Enter", 13, "\r")
	b.tabTo("operate")
	b.key("Enter", 13, "\r")
	b.says("seat", "This page has the controls")
	b.tabTo("back")
	b.key("ArrowRight", 39, "")
	b.until("pintle.strip.back === 1")
	assert.Equal(t, "1 s ago", eval[string](b, "document.getElementById('back').getAttribute('aria-valuetext')"))
	b.tabTo("start")
	b.key("Enter", 13, "\r")
	b.says("phase", "Running")
	b.key("Escape", 27, "")
	b.says("phase", "interrupted")
	b.do(chromedp.Focus("#start"))
	b.key("Enter", 13, "\r")
	b.says("phase", "Running")
	b.do(chromedp.Focus("#stop"))
	b.picture("focus")
	b.key(" ", 32, " ")
	b.says("phase", "interrupted")
}

func serveNoToken(t *testing.T, chrome context.Context) {
	s := startServing(t, "--port", "0")
	b := newTab(t, chrome)
	bare, _, _ := strings.Cut(s.address, "#")
	b.open(bare, 1280, 900)
	b.says("wire", "open the page by the address that pintle serve printed")
	b.picture("notoken")
}

// axe lets axe-core look for what WCAG 2.2 AA forbids.
func (b *tab) axe(where string) {
	b.Helper()
	const how = "npm install --prefix DIR axe-core, and set PINTLE_NODE=DIR"
	dir := os.Getenv("PINTLE_NODE")
	if dir == "" {
		if home, err := os.UserCacheDir(); err == nil {
			dir = filepath.Join(home, "pintle-node")
		}
	}
	text, err := os.ReadFile(filepath.Join(dir, "node_modules", "axe-core", "axe.min.js"))
	if err != nil {
		need.Missing(b, "axe-core is not installed", how)
	}
	eval[bool](b, string(text)+"; true")
	raw := eval[string](b, `axe.run(document, {runOnly: ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa', 'best-practice']})
		.then((r) => JSON.stringify({passes: r.passes.length, bad: r.violations.map((v) => v.id + ': ' + v.nodes.map((n) => n.html + ' ' + n.failureSummary).join('; '))}))`)
	var found struct {
		Passes int
		Bad    []string
	}
	require.NoError(b, json.Unmarshal([]byte(raw), &found))
	assert.Empty(b, found.Bad, where)
	assert.Greater(b, found.Passes, 20, "axe looked at something")
	b.Logf("axe, %s: %d kinds of checks passed", where, found.Passes)
}
