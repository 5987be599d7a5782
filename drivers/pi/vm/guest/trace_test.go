package guest

import (
	"testing"

	"github.com/stretchr/testify/require"
)

// As a Linux 6.1 kernel writes it.
const sample = `# tracer: nop
#
#           TASK-PID     CPU#  |||||  TIMESTAMP  FUNCTION
      guest.test-41      [000] ...1.     1.204511: gpio_value: 508 set 1
      guest.test-41      [000] ...1.     1.204519: gpio_direction: 508 out (0)
      guest.test-41      [000] ...1.     1.204600: gpio_value: 508 get 1
      guest.test-41      [000] ...1.     1.204700: gpio_value: 512 set 1
      guest.test-41      [000] ...1.     1.205000: gpio_direction: 509  in (-22)
      guest.test-41      [000] ...1.    12.000007: gpio_direction: 511  in (0)
`

func TestTraceIsRead(t *testing.T) {
	edges, err := parse(sample, 508, 4)
	require.NoError(t, err)
	require.Equal(t, []Edge{
		{Line: 0, High: true, At: 1204511000},
		{Line: 0, At: 1204519000, Direction: "out"},
		{Line: 3, At: 12000007000, Direction: "in"},
	}, edges)
}

func TestTraceThatIsNotUnderstoodIsNoSilence(t *testing.T) {
	_, err := parse("x-1 [000] 1.0: gpio_value: what\n", 0, 1)
	require.ErrorContains(t, err, "not understood")
	_, err = parse("CPU:0 [LOST 12 EVENTS]\n", 0, 1)
	require.ErrorContains(t, err, "lost")
}

func TestChipIsFoundInTheListOfLines(t *testing.T) {
	list := "gpiochip1: GPIOs 496-503, parent: platform/gpio-sim.1, b:\n\ngpiochip0: GPIOs 504-511, parent: platform/gpio-sim.0, a:\n"
	base, count, err := span(list, "gpiochip0")
	require.NoError(t, err)
	require.Equal(t, [2]int{504, 8}, [2]int{base, count})
	_, _, err = span(list, "gpiochip")
	require.Error(t, err)
}
