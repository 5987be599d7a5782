package main

import (
	"bytes"
	"cmp"
	"crypto/sha256"
	"io"
	"os"
	"path/filepath"
	"runtime"
	"syscall"
	"testing"

	"github.com/stretchr/testify/require"

	"pintle/reports/evidence"
)

// BenchmarkVerify checks a record of the whole demo, TRIALS trials of each scenario (four
// if it is not set) at a kilohertz, as pintle verify does: digests, every trace read, every verdict worked out
// again. The SHA-256 of the same bytes is the yardstick. Memory is that of the trials
// under way, however many there are in the record.
//
// Working out how far values can be trusted costs seconds once, however many trials there
// are: what differs in nothing that matters shares one evaluation.
//
//	TRIALS=59 go test ./cmd/pintle -run xxx -bench Verify -benchtime 1x -timeout 20m
//
// Neighbours of a virtual machine disturb Msamples/s; cpu-ns/sample, the time of all
// processors together, less so, and sha256s, how often the yardstick goes into that, least.
//
// RECORD=FILE takes a record that there is instead of performing one.
func BenchmarkVerify(b *testing.B) {
	f, err := os.Open(benchRecord(b))
	require.NoError(b, err)
	defer f.Close()
	info, err := f.Stat()
	require.NoError(b, err)

	var yardstick float64 // seconds
	b.Run("sha256", func(b *testing.B) {
		b.SetBytes(info.Size())
		began := processorSeconds(b)
		for b.Loop() {
			_, err := io.Copy(sha256.New(), io.NewSectionReader(f, 0, info.Size()))
			require.NoError(b, err)
		}
		yardstick = (processorSeconds(b) - began) / float64(b.N)
	})
	b.Run("verify", func(b *testing.B) {
		b.SetBytes(info.Size())
		b.ReportAllocs()
		samples, began := int64(0), processorSeconds(b)
		var most, m runtime.MemStats
		for b.Loop() {
			rec, err := evidence.Open(f, info.Size())
			require.NoError(b, err)
			v := &verification{}
			require.NoError(b, v.check(rec, nil, ""))
			require.Zero(b, v.Differs)
			samples += v.Samples
			runtime.ReadMemStats(&m)
			most.HeapInuse = max(most.HeapInuse, m.HeapInuse)
		}
		took := processorSeconds(b) - began
		b.ReportMetric(float64(samples)/b.Elapsed().Seconds()/1e6, "Msamples/s")
		b.ReportMetric(took*1e9/float64(samples), "cpu-ns/sample")
		if yardstick > 0 {
			b.ReportMetric(took/float64(b.N)/yardstick, "sha256s")
		}
		b.ReportMetric(float64(most.HeapInuse)/1e6, "MB-in-use")
	})
}

// processorSeconds is what the processors have spent on this process so far.
func processorSeconds(b *testing.B) float64 {
	var u syscall.Rusage
	require.NoError(b, syscall.Getrusage(syscall.RUSAGE_SELF, &u))
	return float64(u.Utime.Nano()+u.Stime.Nano()) / 1e9
}

// benchRecord is the record that is checked.
func benchRecord(b *testing.B) string {
	if file := os.Getenv("RECORD"); file != "" {
		return file
	}
	dir := b.TempDir()
	b.Chdir(dir)
	b.Setenv("XDG_CONFIG_HOME", dir)
	var quiet bytes.Buffer
	trials := cmp.Or(os.Getenv("TRIALS"), "4")
	require.Zero(b, pintle(b.Context(), []string{"run", "--trials", trials}, &quiet, &quiet), quiet.String())
	require.Zero(b, pintle(b.Context(), []string{"certify", "last", "--unsigned", "--record", "r.zip"}, &quiet, &quiet), quiet.String())
	return filepath.Join(dir, "r.zip")
}
