package scenarios

import (
	"regexp"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pintle/rig/rule"
	"pintle/rig/signal"
)

const leaning = "scenarios/leaning.yaml"

var leaningText = []byte(`title: Somebody leans on it
why: It gets hot.
group: electronics
hazard: It burns.
script:
  - wait: 1s
rules:
  - thermal load under: 80 %
    of: bridge
    beginning at: 25 %
  - thermal load under: 62.5 %
    of: motor
    after: motor stops
`)

func TestThermalLoadIsRead(t *testing.T) {
	files := Starter(equipment)
	files[leaning] = leaningText
	job, err := Load(folder(files), "my-job", equipment)
	require.NoError(t, err)
	s, _ := job.Scenario("leaning")
	require.Empty(t, s.NotApplicable)
	require.Len(t, s.Rules, 2)
	bridge, motor := s.Rules[0], s.Rules[1]
	assert.Equal(t, rule.ThermalLoad, bridge.Pattern)
	assert.Equal(t, "bridge", bridge.Heating.Part)
	assert.Equal(t, int64(250_000), bridge.Heating.Start)
	assert.Equal(t, int64(800_000), bridge.Heating.Most)
	assert.Equal(t, 30*signal.Ampere, bridge.Heating.Curve.Continuous)
	assert.InDelta(t, 6.598487, bridge.Heating.Curve.Constant.Seconds(), 1e-6, "30 A for ever and 80 A for %v", time.Second)
	assert.Equal(t, int64(625_000), motor.Heating.Most)
	assert.Zero(t, motor.Heating.Start, "cold where nothing is said")
	assert.Equal(t, "thermal load of the motor at most 62.5 %, after motor stops", motor.Name)
	assert.Equal(t, []string{"80 %", "62.5 %"}, s.LimitTexts)
}

// Where the gate file does not say what a part stands, nothing can be said of it:
// that is no pass.
func TestPartThatIsNotRated(t *testing.T) {
	files := Starter(equipment)
	files[leaning] = leaningText
	for _, part := range []string{"bridge", "motor"} {
		text := regexp.MustCompile(`(?m)^  `+part+`:\n(    .*\n)+`).ReplaceAll(Starter(equipment)["gate.yaml"], nil)
		require.NotEqual(t, string(Starter(equipment)["gate.yaml"]), string(text))
		files["gate.yaml"] = text
		job, err := Load(folder(files), "my-job", equipment)
		require.NoError(t, err)
		s, _ := job.Scenario("leaning")
		assert.Equal(t, "gate.yaml says nothing of what the "+part+" stands", s.NotApplicable)
	}
}
