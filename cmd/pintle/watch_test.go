package main

import (
	"bytes"
	"context"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Whoever watches is told at once, then after each change and never else, and is out
// when the context is.
func TestWatch(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "gate")
	var told bytes.Buffer
	require.Equal(t, 0, pintle(context.Background(), []string{"init", dir}, &told, &told))
	told.Reset()
	w, err := (&app{out: &told, err: &told}).newWatcher(dir)
	require.NoError(t, err)

	second := 0
	tick := func() string {
		second++
		told.Reset()
		w.look(time.Date(2031, 4, 9, 6, 30, second, 0, time.UTC))
		return told.String()
	}

	text := tick()
	assert.True(t, strings.HasPrefix(text, "---- 06:30:01 ------"), text)
	assert.Contains(t, text, "are in order")
	assert.Empty(t, tick(), "nothing has changed")

	file := filepath.Join(dir, "controller.yaml")
	sound, err := os.ReadFile(file)
	require.NoError(t, err)
	// Its size changes too: two writes may follow each other faster than the clock of a file system ticks.
	require.NoError(t, os.WriteFile(file, bytes.Replace(sound, []byte("start delay: 250ms"), []byte("start delay: 2500mm"), 1), 0o644))
	text = tick()
	assert.Contains(t, text, "---- 06:30:03 ")
	assert.Contains(t, text, "controller.yaml:")
	assert.Contains(t, text, "2500mm")
	assert.Empty(t, tick(), "a mistake is told once")

	require.NoError(t, os.WriteFile(file, sound, 0o644))
	assert.Contains(t, tick(), "are in order")
	require.NoError(t, os.WriteFile(filepath.Join(dir, "logbook.db"), []byte("x"), 0o644))
	assert.Empty(t, tick(), "what the program leaves is no file of the job")
	require.NoError(t, os.WriteFile(filepath.Join(dir, "scenarios", "mine.yaml"), []byte("title: x\n"), 0o644))
	assert.Contains(t, tick(), "mine.yaml")
	require.NoError(t, os.Remove(filepath.Join(dir, "bench.yaml")))
	assert.Contains(t, tick(), "bench.yaml")

	// The ticks drive it, and the context ends it.
	require.NoError(t, os.Remove(filepath.Join(dir, "gate.yaml")))
	told.Reset()
	ctx, stop := context.WithCancel(context.Background())
	ticks, done := make(chan time.Time), make(chan struct{})
	go func() { w.follow(ctx, ticks); close(done) }()
	ticks <- time.Date(2031, 4, 9, 6, 31, 0, 0, time.UTC)
	stop()
	<-done
	assert.Contains(t, told.String(), "---- 06:31:00 ")
}

// As it is called: it tells how the files are, follows a change, and ends with its context
// as a call that did what it was to do.
func TestWatchAsItIsCalled(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "gate")
	require.Zero(t, pintle(t.Context(), []string{"init", dir}, io.Discard, io.Discard))
	ctx, stop := context.WithCancel(t.Context())
	defer stop()
	out, done := &lockedText{line: make(chan string, 16)}, make(chan int, 1)
	go func() { done <- pintle(ctx, []string{"check", dir, "--watch"}, out, out) }()
	next := func(want string) {
		t.Helper()
		for text := ""; !strings.Contains(text, want); {
			select {
			case line := <-out.line:
				text += line
			case status := <-done:
				require.Fail(t, "it ended", "status %d", status)
			}
		}
	}
	next("are in order")
	require.NoError(t, os.Remove(filepath.Join(dir, "gate.yaml")))
	next("gate.yaml")
	stop()
	require.Equal(t, statusPass, <-done)
}

// There is nothing to watch in the demo, nor where there is no folder.
func TestWatchNeedsAFolder(t *testing.T) {
	t.Chdir(t.TempDir())
	_, err := (&app{}).newWatcher("")
	assert.ErrorContains(t, err, "needs a job folder")
	_, err = (&app{}).newWatcher("nowhere")
	assert.ErrorContains(t, err, "no such folder")
}
