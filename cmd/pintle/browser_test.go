package main

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/runtime"
	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/require"

	"pintle/rig/need"
)

// A serving is one pintle serve under test.
type serving struct {
	address string
	cancel  context.CancelFunc
	done    chan int
	errs    *lockedText
}

// lockedText is what a program in another goroutine writes.
type lockedText struct {
	mu   sync.Mutex
	text strings.Builder
	line chan string
}

func (l *lockedText) Write(b []byte) (int, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.text.Write(b)
	if l.line != nil {
		l.line <- string(b)
	}
	return len(b), nil
}

func (l *lockedText) String() string {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.text.String()
}

// serving starts pintle serve in a folder of the test's own, and waits for its address.
func startServing(t *testing.T, args ...string) *serving {
	t.Helper()
	ctx, cancel := context.WithCancel(t.Context())
	s := &serving{cancel: cancel, done: make(chan int, 1), errs: &lockedText{}}
	out := &lockedText{line: make(chan string, 16)}
	go func() { s.done <- pintle(ctx, append([]string{"serve"}, args...), out, s.errs) }()
	t.Cleanup(func() { cancel(); <-s.done; s.done <- 0 })
	select {
	case text := <-out.line:
		lines := strings.Split(strings.TrimSpace(text), "\n")
		require.Len(t, lines, 2, text)
		s.address = lines[1]
	case status := <-s.done:
		s.done <- status
		require.FailNow(t, "it ended at once", "status %d: %s", status, s.errs)
	}
	return s
}

// end ends the program and waits for it.
func (s *serving) end(t *testing.T) {
	t.Helper()
	s.cancel()
	status := <-s.done
	s.done <- status
	require.Equal(t, statusPass, status, s.errs.String())
}

// port is the one that it serves at.
func (s *serving) port() string {
	host, _, _ := strings.Cut(strings.TrimPrefix(s.address, "http://"), "/")
	return host[strings.LastIndex(host, ":")+1:]
}

// browser starts headless Chromium. Tabs are opened from what it gives.
func browser(t *testing.T) context.Context {
	t.Helper()
	path := need.Tool(t, "chromium", "apt-get install chromium")
	ctx, cancel := chromedp.NewExecAllocator(t.Context(), chromedp.ExecPath(path), chromedp.WSURLReadTimeout(2*time.Minute), chromedp.NoSandbox, chromedp.Headless, chromedp.DisableGPU,
		chromedp.Flag("disable-dev-shm-usage", true), chromedp.Flag("force-device-scale-factor", "1"), chromedp.Flag("enable-precise-memory-info", true),
		chromedp.Flag("js-flags", "--expose-gc"))
	t.Cleanup(cancel)
	first, end := chromedp.NewContext(ctx)
	t.Cleanup(end)
	_, err := chromedp.Run(first, chromedp.Evaluate[int]("1"))
	require.NoError(t, err)
	return first
}

// A tab is a page in the browser.
type tab struct {
	*testing.T
	ctx context.Context
	mu  sync.Mutex
	bad []string // what the page's console said that it should not
}

func newTab(t *testing.T, browser context.Context) *tab {
	t.Helper()
	b := &tab{T: t}
	ctx, cancel := chromedp.NewContext(browser, chromedp.WithListener(b.hear))
	t.Cleanup(cancel)
	b.ctx = ctx
	_, err := chromedp.Run(ctx, chromedp.Evaluate[int]("1"))
	require.NoError(t, err)
	return b
}

// open goes to an address, at a size.
func (b *tab) open(address string, wide, high int64) {
	b.Helper()
	b.do(chromedp.EmulateViewport(wide, high))
	b.do(chromedp.Navigate(address))
}

func (b *tab) do(a ...chromedp.Action[chromedp.Void]) {
	b.Helper()
	for _, action := range a {
		require.NoError(b, chromedp.Do(b.ctx, action))
	}
}

// eval gives what an expression comes to.
func eval[T any](b *tab, expression string) T {
	b.Helper()
	v, err := chromedp.Run(b.ctx, chromedp.Evaluate[T](expression, chromedp.EvalAwaitPromise))
	require.NoError(b, err, expression)
	return v
}

// until waits until an expression holds, looked at in every frame of the page.
func (b *tab) until(what string) {
	b.Helper()
	got := eval[string](b, fmt.Sprintf(`new Promise((done) => {
		const began = performance.now();
		const look = () => {
			let is = false;
			try { is = %s; } catch (e) {}
			if (is) done('yes');
			else if (performance.now() - began > 60000) done('no: ' + document.body.innerText.slice(0, 1500));
			else setTimeout(look, 20);
		};
		look();
	})`, what))
	b.clean()
	require.Equal(b, "yes", got, what)
}

// text is what an element says.
func (b *tab) text(id string) string {
	b.Helper()
	return eval[string](b, fmt.Sprintf("document.getElementById(%q).textContent", id))
}

// says waits until an element says something.
func (b *tab) says(id, part string) {
	b.Helper()
	b.until(fmt.Sprintf("document.getElementById(%q).textContent.includes(%q)", id, part))
}

// picture takes a screenshot, for people to look at, where PINTLE_PICTURES names a folder.
func (b *tab) picture(name string) {
	b.Helper()
	dir := os.Getenv("PINTLE_PICTURES")
	if dir == "" {
		return
	}
	png, err := chromedp.Run(b.ctx, chromedp.FullScreenshot(100))
	require.NoError(b, err)
	require.NoError(b, os.WriteFile(filepath.Join(dir, name+".png"), png, 0o644))
}

// media makes the browser prefer something, such as prefers-color-scheme dark.
func (b *tab) media(name, value string) {
	b.Helper()
	b.do(chromedp.Func(func(ctx context.Context, t *chromedp.Target) error {
		_, err := cdp.Call(ctx, t, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Features: []*emulation.MediaFeature{{Name: name, Value: value}}})
		return err
	}))
}

// hear keeps what the page's console should not say.
func (b *tab) hear(event any) {
	b.mu.Lock()
	defer b.mu.Unlock()
	switch e := event.(type) {
	case *runtime.EventExceptionThrown:
		text := e.ExceptionDetails.Text
		if x := e.ExceptionDetails.Exception; x != nil {
			text += " " + x.Description
		}
		b.bad = append(b.bad, text)
	case *runtime.EventConsoleAPICalled:
		if e.Type != "error" {
			return
		}
		for _, a := range e.Args {
			b.bad = append(b.bad, a.Description)
		}
	}
}

// clean says that the page's console had nothing to complain of.
func (b *tab) clean() {
	b.Helper()
	b.mu.Lock()
	defer b.mu.Unlock()
	require.Empty(b, b.bad)
}

// startRun starts a run at the pace of life.
func (b *tab) startRun() {
	b.Helper()
	b.until("!document.getElementById('start').disabled") // nothing starts before the page hears the bench
	eval[bool](b, "(document.getElementById('start').click(), true)")
	b.says("phase", "Running")
}
