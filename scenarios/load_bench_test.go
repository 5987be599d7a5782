package scenarios

import "testing"

// BenchmarkLoadDemo reads the demo job with all built-in scenarios.
func BenchmarkLoadDemo(b *testing.B) {
	b.ReportAllocs()
	for b.Loop() {
		if _, err := Demo(equipment); err != nil {
			b.Fatal(err)
		}
	}
}
