package reports

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

func TestFind(t *testing.T) {
	run := Run{Scenarios: []Scenario{{Name: "a"}, {Name: "b", Trials: []Trial{{Number: 3}, {Number: 1}}}}}
	assert.Same(t, &run.Scenarios[1], run.Scenario("b"))
	assert.Nil(t, run.Scenario("c"))
	for number, want := range map[int]int{3: 0, 1: 1} {
		i, ok := run.Scenario("b").Trial(number)
		assert.True(t, ok)
		assert.Equal(t, want, i)
	}
	_, ok := run.Scenario("b").Trial(0)
	assert.False(t, ok)
}
