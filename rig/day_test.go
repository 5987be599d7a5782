package rig_test

import (
	"context"
	"errors"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"pintle/drivers/virtual"
	"pintle/rig"
)

// Whatever numbers nature is given, a day stays within what was allowed, and the
// ends of it are reached.
func TestDayStaysWithin(t *testing.T) {
	v := rig.Varies{Wait: 50 * time.Millisecond, Battery: 0.1, Load: 0.2, Kelvin: 30}
	rapid.Check(t, func(t *rapid.T) {
		var u [rig.DayDimensions]float64
		for i := range u {
			u[i] = rapid.Float64Range(0, 0.999999).Draw(t, "u")
		}
		d := v.Day(u)
		require.True(t, d.Varied)
		require.True(t, d.Loop >= 0 && d.Loop < 1 && d.Meter >= 0 && d.Meter < 1)
		require.True(t, d.Wait >= 0 && d.Wait < v.Wait)
		require.True(t, d.Battery > 1-v.Battery && d.Battery <= 1, "%v", d.Battery)
		require.True(t, d.Load >= 1 && d.Load <= 1+v.Load)
		require.True(t, d.Kelvin >= -v.Kelvin && d.Kelvin <= 0)
	})
	first, last := v.Day([rig.DayDimensions]float64{}), v.Day([rig.DayDimensions]float64{0.99, 0.99, 0.99, 0.99, 0.99, 0.99})
	assert.Equal(t, rig.Day{Varied: true, Battery: 1, Load: 1}, first)
	assert.Equal(t, []float64{1.2, -30}, []float64{last.Load, last.Kelvin})
	assert.Empty(t, first.String())
	assert.Empty(t, rig.Day{}.String())
	assert.Equal(t, "battery at 90.1 %, load 120 %, 30 K colder", last.String())
}

// A scenario with a course ends where the course says so, whatever the number of
// workers; its trials come in their order.
func TestACourseEndsAScenario(t *testing.T) {
	for _, workers := range []int{1, 3} {
		job, s := barrier(), cycle()
		other := s
		other.Name = "other"
		var mu sync.Mutex
		seen := map[int][]int{}
		days := map[int]rig.Day{}
		err := rig.Run(context.Background(), rig.Plan{Job: job, Scenarios: []rig.Scenario{s, other}, Trials: 9, Seed: 3, Workers: workers, Brief: true,
			Open: openVirtual,
			Day: func(name string, trial int) rig.Day {
				return rig.Day{Varied: trial > 1, Loop: 0.5, Battery: 1, Load: 1}
			},
			Course: func() func(bool) bool {
				n := 0
				return func(passed bool) bool {
					n++
					return !passed || n == 4
				}
			},
			Sink: func(o *rig.Outcome) error {
				mu.Lock()
				defer mu.Unlock()
				seen[o.Scenario] = append(seen[o.Scenario], o.Trial)
				days[o.Trial] = o.Day
				return nil
			}})
		require.NoError(t, err)
		assert.Equal(t, map[int][]int{0: {1, 2, 3, 4}, 1: {1, 2, 3, 4}}, seen, "%d workers", workers)
		assert.False(t, days[1].Varied)
		assert.True(t, days[2].Varied)
	}
	// A sink that refuses ends the run at once.
	err := rig.Run(context.Background(), rig.Plan{Job: barrier(), Scenarios: []rig.Scenario{cycle()}, Trials: 9, Open: openVirtual,
		Course: func() func(bool) bool { return func(bool) bool { return false } },
		Sink:   func(*rig.Outcome) error { return errors.New("the disk is full") }})
	require.ErrorContains(t, err, "the disk is full")
}

func openVirtual() (rig.Bench, rig.Facts, error) {
	b, err := virtual.New(virtual.DefaultConfig(), 0)
	if err != nil {
		return nil, rig.Facts{}, err
	}
	return b, b.Facts(), nil
}
