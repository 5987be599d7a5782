package rig_test

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"pintle/rig"
)

type forgetful struct {
	rig.Bench
	forgot *int
}

func (f forgetful) Forget() { *f.forgot++ }

type around struct{ rig.Bench }

func (a around) Unwrap() rig.Bench { return a.Bench }

type closed struct{ rig.Bench } // does not say what is in it

// What a bench can do is found through all that is wrapped around it.
func TestCan(t *testing.T) {
	var forgot int
	inner := forgetful{nil, &forgot}
	for _, b := range []rig.Bench{inner, around{inner}, around{around{inner}}} {
		f, ok := rig.Can[rig.Forgetter](b)
		if assert.True(t, ok, "%T", b) {
			f.Forget()
		}
		_, ok = rig.Can[rig.Halter](b)
		assert.False(t, ok, "%T", b)
	}
	assert.Equal(t, 3, forgot)
	_, ok := rig.Can[rig.Forgetter](closed{inner})
	assert.False(t, ok)
	_, ok = rig.Can[rig.Forgetter](around{nil})
	assert.False(t, ok)
}
