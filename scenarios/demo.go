package scenarios

import (
	"pintle/scenarios/demo"
)

// Demo is the job that the program shows itself with.
func Demo(with Equipment) (*Job, error) {
	job, err := Load(demo.Folder(), "", with)
	if err != nil {
		return nil, err
	}
	return job, nil
}
