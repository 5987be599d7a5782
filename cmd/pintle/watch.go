package main

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"time"
)

// often is how often the files are looked at. Their times of change are all that is
// read, which costs nothing to speak of and works on every file system.
const often = 500 * time.Millisecond

// A watcher checks the files of a job folder whenever one of them has changed.
type watcher struct {
	*app
	dir  string
	seen string // the files as they were at the last check
}

// watch checks until the context is done.
func (a *app) watch(ctx context.Context, dir string) error {
	w, err := a.newWatcher(dir)
	if err != nil {
		return err
	}
	w.look(time.Now())
	ticker := time.NewTicker(often)
	defer ticker.Stop()
	w.follow(ctx, ticker.C)
	return nil
}

func (a *app) newWatcher(dir string) (*watcher, error) {
	if dir == "" {
		dir = "."
		if _, err := os.Stat("controller.yaml"); err != nil {
			return nil, usage(errors.New("--watch needs a job folder, which is not here: pintle check --watch DIR; pintle init DIR makes one"))
		}
	}
	if info, err := os.Stat(dir); err != nil || !info.IsDir() {
		return nil, usage(noFolder(dir))
	}
	return &watcher{app: a, dir: dir}, nil
}

// follow looks at every tick.
func (w *watcher) follow(ctx context.Context, ticks <-chan time.Time) {
	for {
		select {
		case <-ctx.Done():
			return
		case at := <-ticks:
			w.look(at)
		}
	}
}

// look checks where a file has changed since the last check.
func (w *watcher) look(at time.Time) {
	now := filesAsTheyAre(w.dir)
	if now == w.seen {
		return
	}
	w.seen = now
	head := "---- " + at.Format("15:04:05") + " "
	fmt.Fprintln(w.out, head+strings.Repeat("-", w.wide()-len(head)))
	job, err := loadJob(w.dir)
	if err == nil {
		_, _, err = opener(job)
	}
	if err != nil {
		fmt.Fprintln(w.out, err)
		return
	}
	fmt.Fprintf(w.out, "%d files and %d scenarios are in order\n", len(job.Files), len(job.Scenarios))
	if err := w.soundness(job); err != nil {
		fmt.Fprintln(w.out, err)
	}
}

// filesAsTheyAre differs once a file that people write in a job folder has changed, come
// or gone. What the program leaves there, such as the logbook, is none of these.
func filesAsTheyAre(dir string) string {
	var b strings.Builder
	err := filepath.WalkDir(dir, func(path string, d fs.DirEntry, err error) error {
		switch {
		case err != nil:
			return nil // gone between the list and the look
		case d.IsDir() && path != dir && strings.HasPrefix(d.Name(), "."):
			return fs.SkipDir
		case d.IsDir() || !strings.HasSuffix(d.Name(), ".yaml") && !strings.HasSuffix(d.Name(), ".yml"):
			return nil
		}
		if info, err := d.Info(); err == nil {
			fmt.Fprintf(&b, "%s %d %d\n", path, info.Size(), info.ModTime().UnixNano())
		}
		return nil
	})
	if err != nil {
		fmt.Fprintf(&b, "%v\n", err)
	}
	return "files\n" + b.String()
}
