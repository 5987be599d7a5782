package main

import (
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// serveHome gives the test a configuration folder of its own, and a folder to be in.
func serveHome(t *testing.T) {
	t.Helper()
	t.Chdir(t.TempDir())
	t.Setenv("XDG_CONFIG_HOME", t.TempDir())
}

func TestServeStartWatchStop(t *testing.T) {
	chrome := browser(t)
	serveHome(t)
	s := startServing(t, "--port", "0")
	b := newTab(t, chrome)
	b.open(s.address, 1280, 900)
	b.says("wire", "connected")
	assert.NotContains(t, eval[string](b, "location.href"), "token", "the token is not left in the address")
	b.picture("idle")
	b.do(chromedp.Click("#start"))
	b.says("phase", "Running")
	b.until("pintle.paper.readings.n > 6000")
	b.says("seat", "This page has the controls")
	b.says("said", "supply on")
	b.picture("running")
	b.do(chromedp.Click("#stop"))
	b.says("phase", "void. the run was interrupted")
	b.until("document.querySelectorAll('#runs tr').length === 1")
	b.picture("stopped")
	require.Empty(t, b.text("refused"))
}
