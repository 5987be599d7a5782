// Command pintle puts the controller of an electric gate to the test on a bench.
package main

import (
	"context"
	"os"
	"os/signal"
	"syscall"

	"pintle/drivers/pi/hands"
)

func main() {
	hands.Main() // this very program, where it was started to be them
	os.Exit(pintle(stoppable(), os.Args[1:], os.Stdout, os.Stderr))
}

// stoppable is done when the program is told to end, and it ends in good order then. A
// second Ctrl-C ends it at once, whatever it waits for: the hands make the bench safe when
// it is gone.
func stoppable() context.Context {
	ctx, _ := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM, syscall.SIGHUP) // as long as the program lives
	context.AfterFunc(ctx, func() { signal.Reset(os.Interrupt) })
	return ctx
}
