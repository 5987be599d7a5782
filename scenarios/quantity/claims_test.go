package quantity

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func claims(t *testing.T, pairs ...string) []Claim {
	var list []Claim
	for i := 0; i < len(pairs); i += 2 {
		e, bad := ParseExpression(pairs[i+1], Unknown)
		require.Nil(t, bad, pairs[i+1])
		list = append(list, Claim{pairs[i], e})
	}
	return list
}

func TestResolveInAnyOrder(t *testing.T) {
	values, bad := Resolve(claims(t, "c", "claim b + claim a", "b", "2 * claim a", "a", "100ms"))
	assert.Empty(t, bad)
	assert.Equal(t, "100ms", values["a"].String())
	assert.Equal(t, "200ms", values["b"].String())
	assert.Equal(t, "300ms", values["c"].String())
}

func TestResolveNamesTheCircle(t *testing.T) {
	for _, c := range []struct {
		claims []string
		says   []string
		at     []int // claim
	}{
		{[]string{"a", "claim a + 1s"}, []string{"circular claim: a -> a"}, []int{0}},
		{[]string{"a", "claim b", "b", "claim a"}, []string{"circular claim: a -> b -> a"}, []int{1}},
		{[]string{"z", "claim a", "a", "claim b + 1s", "b", "2 * claim c", "c", "claim a"}, []string{"circular claim: a -> b -> c -> a"}, []int{3}},
		{[]string{"a", "claim b", "b", "claim a", "c", "claim d", "d", "claim c"},
			[]string{"circular claim: a -> b -> a", "circular claim: c -> d -> c"}, []int{1, 3}},
	} {
		values, bad := Resolve(claims(t, c.claims...))
		var says []string
		var at []int
		for _, b := range bad {
			says, at = append(says, b.Text), append(at, b.Claim)
		}
		assert.Equal(t, c.says, says)
		assert.Equal(t, c.at, at)
		for name, v := range values {
			assert.Equal(t, Unknown, v.Of, name)
		}
	}
}

// A mistake is told where it is made, not wherever its claim is used.
func TestResolveTellsAMistakeOnce(t *testing.T) {
	values, bad := Resolve(claims(t, "a", "1s + 1A", "b", "2 * claim a", "c", "claim b + 1s", "d", "claim e"))
	require.Len(t, bad, 2)
	assert.Equal(t, 0, bad[0].Claim)
	assert.Equal(t, `there is no claim "e"`, bad[1].Text)
	assert.Equal(t, Unknown, values["c"].Of)
}
