package webreport

import (
	"context"
	"encoding/json"
	"flag"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pintle/reports"
	"pintle/rig/need"
)

var shots = flag.String("shots", "", "leave pictures of the pages in this `folder`")

// browse opens a page in a browser that nobody sees.
func browse(t *testing.T, run *reports.Run) context.Context {
	path := need.Tool(t, "chromium", "apt-get install chromium")
	file := filepath.Join(t.TempDir(), "report.html")
	require.NoError(t, os.WriteFile(file, []byte(pageOf(t, run, Options{})), 0o600))
	ctx, cancel := chromedp.NewContext(context.Background(), chromedp.WithAllocatorOptions(chromedp.ExecPath(path), chromedp.WSURLReadTimeout(2*time.Minute), chromedp.NoSandbox))
	t.Cleanup(cancel)
	require.NoError(t, chromedp.Do(ctx, chromedp.Navigate("file://"+file)))
	return ctx
}

func ask[T any](t *testing.T, ctx context.Context, script string, o ...chromedp.EvaluateOption) T {
	answer, err := chromedp.Run(ctx, chromedp.Evaluate[T](script, o...))
	require.NoError(t, err, "%.80s", script)
	return answer
}

func wear(t *testing.T, ctx context.Context, scheme string, wide int64) {
	_, err := chromedp.Call(ctx, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{
		Features: []*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: scheme}}})
	require.NoError(t, err)
	require.NoError(t, chromedp.Do(ctx, chromedp.EmulateViewport(wide, 800)))
}

// snap leaves a picture where one was asked for.
func snap(t *testing.T, ctx context.Context, name string) {
	if *shots == "" {
		return
	}
	picture, err := chromedp.Run(ctx, chromedp.FullScreenshot(100))
	require.NoError(t, err)
	require.NoError(t, os.WriteFile(filepath.Join(*shots, name+".png"), picture, 0o644))
}

// Chromium shares nothing with this project. 320 pixels are the width that SC 1.4.10
// of WCAG 2.2 asks for.
func TestInABrowser(t *testing.T) {
	run := full()
	ctx := browse(t, run)
	for scheme, s := range map[string]scheme{"light": day, "dark": night} {
		for _, wide := range []int64{1000, 360, 320} {
			name := fmt.Sprintf("%s-%d", scheme, wide)
			wear(t, ctx, scheme, wide)
			snap(t, ctx, name)
			ask[bool](t, ctx, "document.querySelectorAll('details').forEach(d => d.open = true) || true")
			assert.LessOrEqual(t, ask[int64](t, ctx, "document.documentElement.scrollWidth"), wide, "%s: pushed sideways", name)
			c := colourOf(t, s.paper)
			assert.Equal(t, fmt.Sprintf("rgb(%.0f, %.0f, %.0f)", c[0], c[1], c[2]), ask[string](t, ctx, "getComputedStyle(document.documentElement).backgroundColor"), "the page's own style")
			snap(t, ctx, name+"-open")
			ask[bool](t, ctx, "document.querySelectorAll('details').forEach(d => d.open = false) || true")
		}
	}
	assert.Zero(t, ask[int](t, ctx, "performance.getEntriesByType('resource').length"), "things fetched")
	assert.Equal(t, 7, ask[int](t, ctx, "[...document.querySelectorAll('svg')].filter(s => s.getBoundingClientRect().height > 100).length"), "charts that can be seen")
}

// The keyboard goes through the page in the order in which it is read, and shows
// where it is.
func TestByKeyboard(t *testing.T) {
	ctx := browse(t, full())
	wear(t, ctx, "light", 1000)
	all := ask[int](t, ctx, `window.stops = [...document.querySelectorAll('a[href],summary,[tabindex="0"]')].filter(e => e.checkVisibility({contentVisibilityAuto:true,visibilityProperty:true})); window.stops.length`)
	require.Greater(t, all, 40)
	for i := range all {
		require.NoError(t, chromedp.Do(ctx, chromedp.KeyEvent("\t")))
		require.Equal(t, i, ask[int](t, ctx, "window.stops.indexOf(document.activeElement)"), "the order of stops")
		require.Equal(t, "solid 3px", ask[string](t, ctx, "(s => s.outlineStyle + ' ' + s.outlineWidth)(getComputedStyle(document.activeElement))"), "where the keyboard is must be seen")
		if i == 0 {
			require.Equal(t, "Skip to the verdict", ask[string](t, ctx, "document.activeElement.textContent"))
			require.GreaterOrEqual(t, ask[float64](t, ctx, "document.activeElement.getBoundingClientRect().left"), 0.0, "the skip link is shown")
		}
	}
	ask[bool](t, ctx, "window.stops[0].focus() || true")
	require.NoError(t, chromedp.Do(ctx, chromedp.KeyEvent("\r")))
	require.Equal(t, "verdict", ask[string](t, ctx, "document.activeElement.id"))
}

// axe-core, the rules of which are those of WCAG 2.2 AA and good practice.
func TestAxeFindsNothing(t *testing.T) {
	const how = "npm install --prefix DIR axe-core, and set PINTLE_NODE=DIR"
	dir := os.Getenv("PINTLE_NODE")
	axe, err := os.ReadFile(filepath.Join(dir, "node_modules", "axe-core", "axe.min.js"))
	if dir == "" || err != nil {
		need.Missing(t, "the npm package axe-core is not there", how)
	}
	ctx := browse(t, full())
	ask[bool](t, ctx, string(axe)+";true")
	for _, c := range []struct {
		scheme string
		wide   int64
		open   bool
	}{{"light", 1000, false}, {"light", 1000, true}, {"dark", 1000, true}, {"light", 360, true}} {
		wear(t, ctx, c.scheme, c.wide)
		ask[bool](t, ctx, fmt.Sprintf("document.querySelectorAll('details').forEach(d => d.open = %t) || true", c.open))
		found := ask[string](t, ctx, `axe.run(document, {resultTypes: ['violations'], runOnly: ['wcag2a','wcag2aa','wcag21a','wcag21aa','wcag22aa','best-practice']})
			.then(r => JSON.stringify({passes: r.passes.length, violations: r.violations.map(v => v.id + ': ' + v.help + ' ' + v.nodes.slice(0, 3).map(n => n.html + ' ' + n.failureSummary).join(' | '))}))`, chromedp.EvalAwaitPromise)
		var result struct {
			Passes     int
			Violations []string
		}
		require.NoError(t, json.Unmarshal([]byte(found), &result))
		assert.Empty(t, result.Violations, "%+v", c)
		assert.Greater(t, result.Passes, 20, "rules that had something to look at")
	}
	// It finds what is wrong, where something is.
	ask[bool](t, ctx, "document.querySelector('svg').removeAttribute('aria-labelledby') || document.querySelector('svg title').remove() || true")
	assert.Contains(t, ask[string](t, ctx, "axe.run(document).then(r => JSON.stringify(r.violations.map(v => v.id)))", chromedp.EvalAwaitPromise), "svg-img-alt")
}

func TestOnPaper(t *testing.T) {
	text := need.Tool(t, "pdftotext", "apt-get install poppler-utils")
	ctx := browse(t, full())
	wear(t, ctx, "dark", 1000)
	pdf, err := chromedp.Run(ctx, chromedp.PrintToPDF(chromedp.PDFPaper(chromedp.PaperA4)))
	require.NoError(t, err)
	file := filepath.Join(t.TempDir(), "report.pdf")
	if *shots != "" {
		file = filepath.Join(*shots, "report.pdf")
	}
	require.NoError(t, os.WriteFile(file, pdf, 0o644))
	out, err := exec.Command(text, "-layout", file, "-").CombinedOutput()
	require.NoError(t, err, "%s", out)
	words := string(out)
	for _, want := range []string{"FAIL", "REHEARSAL", "The closed limit never arrives", "16.2400 s ± 0.0020 s", "A moving gate can kill"} {
		assert.Contains(t, words, want)
	}
	assert.Less(t, strings.Count(words, "\f"), 16, "pages")
}
