package main

import (
	"errors"

	"pintle/drivers/virtual"
	"pintle/rig"
	"pintle/scenarios"
)

func serialOpener(*scenarios.Job, virtual.Config) (func() (rig.Bench, rig.Facts, error), int, error) {
	return nil, 0, void(errors.New("the serial bench is not there yet"))
}
