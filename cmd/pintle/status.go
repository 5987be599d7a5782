package main

import (
	"errors"
	"fmt"

	"pintle/rig/rule"
)

// Exit statuses. A call or a file that is wrong has the status that sysexits.h
// gives to it (EX_USAGE), and so has a result that could not be written.
const (
	statusPass         = 0
	statusFail         = 1
	statusInconclusive = 2
	statusVoid         = 3
	statusUsage        = 64
	statusBug          = 70 // EX_SOFTWARE
	statusUnwritten    = 74 // EX_IOERR
)

// statuses is the table of what they mean.
var statuses = []struct {
	status int
	means  string
}{
	{statusPass, "Pass, or done: the call did what it was asked for, and every verdict that it reached is a pass."},
	{statusFail, "Fail: at least one rule was broken beyond the doubt of the measurement."},
	{statusInconclusive, "Inconclusive: nothing was seen broken, but at least one rule could not be decided. This is not a pass."},
	{statusVoid, "Void: the bench failed, so nothing is said of the controller."},
	{statusUsage, "The call or a file is wrong (EX_USAGE of sysexits.h). Nothing was performed."},
	{statusBug, "A bug of pintle (EX_SOFTWARE of sysexits.h)."},
	{statusUnwritten, "Done, with every verdict a pass, but not all results could be written to standard output (EX_IOERR of sysexits.h)."},
}

// statusOf gives the exit status for a verdict. What is not settled is never 0.
func statusOf(v rule.Verdict) int {
	switch v {
	case rule.Pass:
		return statusPass
	case rule.Fail:
		return statusFail
	case rule.Void:
		return statusVoid
	}
	return statusInconclusive
}

// An ended error ends the program with a status. What there is to say has been
// said already where err is nil.
type ended struct {
	status int
	err    error
}

func (e *ended) Error() string {
	if e.err == nil {
		return fmt.Sprintf("status %d", e.status)
	}
	return e.err.Error()
}

func (e *ended) Unwrap() error { return e.err }

// usage says that the call or a file is wrong.
func usage(err error) error { return &ended{statusUsage, err} }

// void says that the bench failed.
func void(err error) error { return &ended{statusVoid, err} }

// done ends the program by a verdict.
func done(v rule.Verdict) error {
	if v == rule.Pass {
		return nil
	}
	return &ended{status: statusOf(v)}
}

// exitStatus reads the status out of an error.
func exitStatus(err error) int {
	var e *ended
	switch {
	case err == nil:
		return statusPass
	case errors.As(err, &e):
		return e.status
	}
	return statusBug
}
