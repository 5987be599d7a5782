package main

import (
	"errors"
	"fmt"
	"io"
	"sync"
)

// An outlet is where results go. A full disk or a closed pipe under it does not stop what
// is under way, which on a bench may drive a motor and is kept in the logbook; the call
// ends by saying so.
type outlet struct {
	w   io.Writer
	mu  sync.Mutex
	err error // the first
}

func (o *outlet) Write(b []byte) (int, error) {
	o.mu.Lock()
	defer o.mu.Unlock()
	if o.err == nil {
		_, o.err = o.w.Write(b)
	}
	return len(b), nil
}

// whole ends a call: where not all of its results were written it has not done what it was
// asked for, whatever came of it. A status that says something worse stays.
func (o *outlet) whole(a *app, status int) int {
	o.mu.Lock()
	defer o.mu.Unlock()
	if o.err == nil {
		return status
	}
	a.complain(fmt.Errorf("write the results to standard output: %w; not all of them are there (a run is in its logbook all the same)", cause(o.err)))
	if status == statusPass {
		return statusUnwritten
	}
	return status
}

// cause is what an error comes down to.
func cause(err error) error {
	for {
		inner := errors.Unwrap(err)
		if inner == nil {
			return err
		}
		err = inner
	}
}
