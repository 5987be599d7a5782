package scenarios

import (
	"reflect"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pintle/rig/fault"
	"pintle/scenarios/quantity"
)

// A kind of fault that has times is called like its key; without the key nobody could ask
// for it.
func TestEveryTimedFaultHasItsKey(t *testing.T) {
	keys := map[string]bool{}
	file := reflect.TypeFor[FaultFile]()
	for i := range file.NumField() {
		if f := file.Field(i); f.Type == reflect.TypeFor[quantity.Formula]() {
			keys[f.Tag.Get("key")] = true
		}
	}
	timed := 0
	for _, k := range fault.Kinds {
		if k.Needs != 0 && !k.Needs.Has(fault.Other) {
			assert.True(t, keys[k.Name], "a scenario has no key for a line that is %s", k.Name)
			timed++
		}
	}
	require.NotZero(t, timed)
	assert.False(t, (&FaultFile{}).time("no such key").Given())
}
