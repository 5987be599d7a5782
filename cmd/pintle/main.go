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
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM, syscall.SIGHUP)
	defer stop()
	os.Exit(pintle(ctx, os.Args[1:], os.Stdout, os.Stderr))
}
