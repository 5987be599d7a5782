package evidence_test

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"io"
	"math/rand/v2"
	"runtime"
	"sync"
	"testing"

	"github.com/stretchr/testify/require"

	"pintle/reports"
	"pintle/reports/evidence"
	"pintle/reports/reportstest"
	"pintle/reports/tracefile"
	"pintle/rig/signal"
)

func digest(b []byte) string {
	sum := sha256.Sum256(b)
	return hex.EncodeToString(sum[:])
}

// one gives the same trace for every trial.
type one []byte

func (o one) TraceFile(string, string, int) ([]byte, error) { return o, nil }

// long is a run of 60 scenarios with 59 trials each, of 16 s at 1 kHz, with a noise of
// which Parquet can make no less than 12 bits a sample.
func long(b testing.TB) (*reports.Run, one) {
	run := reportstest.Many(60, 59)
	told := &signal.Trace{End: 16_000_000_000}
	noise := rand.New(rand.NewPCG(1, 2))
	for i := range signal.Instant(16000) {
		told.Samples = append(told.Samples, signal.Sample{From: i * 1_000_000, To: (i + 1) * 1_000_000, Current: signal.Current(noise.IntN(4096) * 1000)})
	}
	var text bytes.Buffer
	require.NoError(b, tracefile.Write(&text, told))
	trace := text.Bytes()
	for i := range run.Scenarios {
		for j := range run.Scenarios[i].Trials {
			run.Scenarios[i].Trials[j].Trace = digest(trace)
		}
	}
	return run, trace
}

// BenchmarkRecord: the yardstick is the SHA-256 of the bytes of the whole file.
func BenchmarkRecord(b *testing.B) {
	run, traces := long(b)
	public, private := key(1)
	file := written(b, run, traces, evidence.SignWith(private))
	b.Run("sha256", func(b *testing.B) {
		b.SetBytes(int64(len(file)))
		b.ReportAllocs()
		for b.Loop() {
			sha256.Sum256(file)
		}
	})
	b.Run("write", func(b *testing.B) {
		b.SetBytes(int64(len(file)))
		b.ReportAllocs()
		for b.Loop() {
			_, err := evidence.Write(io.Discard, run, traces, evidence.SignWith(private))
			require.NoError(b, err)
		}
	})
	b.Run("open", func(b *testing.B) {
		b.SetBytes(int64(len(file)))
		b.ReportAllocs()
		for b.Loop() {
			_, err := evidence.Open(bytes.NewReader(file), int64(len(file)))
			require.NoError(b, err)
		}
	})
	b.Run("check", func(b *testing.B) {
		b.SetBytes(int64(len(file)))
		b.ReportAllocs()
		for b.Loop() {
			require.NoError(b, check(file, evidence.VerifyWith(public)))
		}
	})
}

// Trials may be read by several at once.
func TestTrialsSideBySide(t *testing.T) {
	b, _ := signed(t)
	rec, err := evidence.Open(bytes.NewReader(b), int64(len(b)))
	require.NoError(t, err)
	var wait sync.WaitGroup
	errs := make([]error, 4*rec.Len())
	for i := range errs {
		wait.Go(func() { _, errs[i] = rec.At(i % rec.Len()) })
	}
	wait.Wait()
	for _, err := range errs {
		require.NoError(t, err)
	}
}

// Writing and checking hold one trial at a time, whatever the length of the run.
func TestMemoryIsThatOfOneTrial(t *testing.T) {
	trace := make(one, 4<<20)
	run := reportstest.Many(2, 20)
	for i := range run.Scenarios {
		for j := range run.Scenarios[i].Trials {
			run.Scenarios[i].Trials[j].Trace = digest(trace)
		}
	}
	var file bytes.Buffer
	file.Grow(200 << 20)
	peak := heapOver(t, func(sample func()) {
		_, err := evidence.Write(tap{&file, sample}, run, traces(func() []byte { return append(one(nil), trace...) }), nil)
		require.NoError(t, err)
	})
	require.Less(t, peak, uint64(12<<20), "writing 160 MiB")
	rec, err := evidence.Open(bytes.NewReader(file.Bytes()), int64(file.Len()))
	require.NoError(t, err)
	peak = heapOver(t, func(sample func()) {
		for _, err := range rec.Trials() {
			require.NoError(t, err)
			sample()
		}
	})
	require.Less(t, peak, uint64(12<<20), "checking 160 MiB")
}

type traces func() []byte

func (f traces) TraceFile(string, string, int) ([]byte, error) { return f(), nil }

// tap looks on at every large write.
type tap struct {
	w      io.Writer
	sample func()
}

func (t tap) Write(b []byte) (int, error) {
	if len(b) > 1<<20 {
		t.sample()
	}
	return t.w.Write(b)
}

// heapOver is by how much the live heap grows, at most, where a task lets it be seen.
func heapOver(t *testing.T, task func(sample func())) uint64 {
	t.Helper()
	live := func() uint64 {
		runtime.GC()
		var m runtime.MemStats
		runtime.ReadMemStats(&m)
		return m.HeapAlloc
	}
	before, peak := live(), uint64(0)
	task(func() { peak = max(peak, live()) })
	require.NotZero(t, peak)
	return peak - min(peak, before)
}
