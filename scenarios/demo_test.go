package scenarios

import "testing"

func TestDemoLoads(t *testing.T) {
	job, err := Demo(equipment)
	if err != nil {
		t.Fatal(err)
	}
	if len(job.Scenarios) < 14 {
		t.Errorf("the demo has %d scenarios", len(job.Scenarios))
	}
	for _, s := range job.Scenarios {
		if s.NotApplicable != "" {
			t.Errorf("%s does not apply: %s", s.Name, s.NotApplicable)
		}
	}
}
