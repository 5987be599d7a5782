package main

import (
	"os"
	"strconv"
	"testing"

	"github.com/stretchr/testify/assert"
)

// TestServeFigures tells what the page weighs, how soon it shows a chart, what an hour
// of a 1 kHz meter and twelve lanes costs in memory, and how long a frame of it takes to
// draw. Times are told and compared with each other, not held to a clock.
func TestServeFigures(t *testing.T) {
	if os.Getenv("PINTLE_QUIET") != "1" {
		t.Skip("measures times, and needs a machine that does nothing else: PINTLE_QUIET=1 go test ./cmd/pintle -run ServeFigures -v")
	}
	serveHome(t)
	chrome := browser(t)
	s := startServing(t, "--port", "0")
	b := newTab(t, chrome)
	b.open(s.address, 1280, 900)
	b.until("performance.getEntriesByName('chart').length > 0")
	weight := eval[float64](b, `performance.getEntriesByType('navigation')[0].encodedBodySize +
		performance.getEntriesByType('resource').filter((r) => !r.name.includes('/api/')).reduce((n, r) => n + r.encodedBodySize, 0)`)
	files := eval[int](b, "1 + performance.getEntriesByType('resource').filter((r) => !r.name.includes('/api/')).length")
	elsewhere := eval[int](b, "performance.getEntriesByType('resource').filter((r) => !r.name.startsWith(location.origin)).length")
	assert.Zero(t, elsewhere, "nothing is asked of anybody else")
	assert.Less(t, weight, 80e3, "no build step, and no weight that would want one")
	chart := eval[float64](b, "performance.getEntriesByName('chart')[0].startTime")
	t.Logf("page weight: %.1f kB in %d files, uncompressed; first chart after %.0f ms", weight/1e3, files, chart)

	// While it runs: frames in a second.
	b.startRun()
	b.until("pintle.paper.readings.n > 3000")
	rate := eval[float64](b, `new Promise((done) => { const s = pintle.strip, n = s.frames, at = performance.now();
		setTimeout(() => done((s.frames - n) / (performance.now() - at) * 1000), 3000); })`)
	cost := eval[float64](b, "pintle.strip.spent / pintle.strip.frames")
	t.Logf("live at 1 kHz, %d lanes: %.1f frames a second, %.2f ms to draw one", eval[int](b, "pintle.paper.lines.length"), rate, cost)
	assert.GreaterOrEqual(t, eval[int](b, "pintle.paper.lines.length"), 12)
	assert.Less(t, cost, 1000.0/60, "a frame is drawn within its own time, so that there can be 60 in a second")

	before := eval[float64](b, "(gc(), performance.memory.usedJSHeapSize)")
	eval[bool](b, hour)
	bytes := eval[float64](b, "pintle.paper.bytes()")
	after := eval[float64](b, "(gc(), performance.memory.usedJSHeapSize)")
	t.Logf("after an hour of 1 kHz: %.1f MB on the paper, JS heap %.1f MB (before: %.1f MB)", bytes/1e6, after/1e6, before/1e6)
	eval[bool](b, hour)
	twice := eval[float64](b, "pintle.paper.bytes()")
	t.Logf("after two: %.1f MB on the paper", twice/1e6)
	assert.Less(t, twice, bytes*1.02, "it is bounded")
	assert.Less(t, bytes, 48e6)
	frame := func(span int) float64 {
		return eval[float64](b, "(() => { const s = pintle.strip; s.span = "+strconv.Itoa(span)+`; s.head = pintle.paper.now; s.draw(pintle.paper);
			let least = Infinity; // of three, as the machine may have stood still
			for (let n = 0; n < 3; n++) {
				const at = performance.now(); for (let i = 0; i < 100; i++) { s.head -= 37; s.draw(pintle.paper); }
				least = Math.min(least, (performance.now() - at) / 100);
			}
			return least; })()`)
	}
	short, long := frame(20), frame(3600)
	t.Logf("a frame of the last 20 s takes %.2f ms to draw, one of the whole hour %.2f ms: %.1f times as long", short, long, long/short)
	assert.Less(t, long/short, 10.0, "an hour back does not slow it down")
	b.picture("hour")
	b.clean()
}

// hour puts an hour of a 1 kHz meter on the paper, with edges on all lines, by batches
// as the program sends them.
const hour = `(() => {
	const p = pintle.paper, from = p.now, lines = p.lines.map((l) => l.n), n = 40;
	for (let ms = 0; ms < 3600000; ms += n) {
		const edges = ms % 2000 === 0 ? lines.length : 0, d = new DataView(new ArrayBuffer(16 + 8 * (n + edges)));
		d.setUint32(0, from + (ms + n) * 10, true); d.setUint32(4, n, true); d.setUint32(8, edges, true);
		for (let i = 0; i < n; i++) {
			d.setUint32(16 + 8 * i, from + (ms + i) * 10, true);
			d.setFloat32(20 + 8 * i, (ms % 20000 < 9000 ? 11 : 0) + Math.random(), true);
		}
		for (let i = 0; i < edges; i++) {
			d.setUint32(16 + 8 * (n + i), from + ms * 10 + i * 500, true);
			d.setUint32(20 + 8 * (n + i), lines[i] | (ms / 2000 % 2) << 8, true);
		}
		p.take(new Uint8Array(d.buffer));
	}
	return true;
})()`
