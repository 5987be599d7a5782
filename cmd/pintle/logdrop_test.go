package main

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

func TestInstants(t *testing.T) {
	here := time.FixedZone("here", 2*3600)
	now := time.Date(2031, 3, 31, 12, 0, 0, 0, here)
	for text, want := range map[string]string{
		"36h": "2031-03-30T00:00:00+02:00", "30d": "2031-03-01T12:00:00+02:00", "6w": "2031-02-17T12:00:00+02:00",
		"3mo": "2030-12-31T12:00:00+02:00", "2y": "2029-03-31T12:00:00+02:00", "0h": "2031-03-31T12:00:00+02:00",
		"2031-03-01": "2031-03-01T00:00:00+02:00", "2031-03-01T18:05": "2031-03-01T18:05:00+02:00",
		"2031-03-01T18:05:06": "2031-03-01T18:05:06+02:00", "2031-03-01T18:05:06Z": "2031-03-01T18:05:06Z",
	} {
		got, err := instant(text, now, false)
		require.NoError(t, err, text)
		require.Equal(t, want, got.Format(time.RFC3339), text)
	}
	end, err := instant("2031-02-28", now, true)
	require.NoError(t, err)
	require.Equal(t, "2031-03-01T00:00:00+02:00", end.Format(time.RFC3339), "a date counts to its end")
	for _, text := range []string{"-1d", "1", "d", "1.5y", "1 d", "999999d", "2031-02-30", "2031-3-1", "yesterday", "2y "} {
		_, err := instant(text, now, false)
		require.ErrorContains(t, err, "an age such as 36h", text)
	}
}

// Whatever is understood as an age lies in the past, and nothing makes it panic.
func FuzzInstant(f *testing.F) {
	for _, s := range []string{"36h", "2y", "2031-03-01", "2031-03-01T18:05", "99999y", ""} {
		f.Add(s)
	}
	now := time.Date(2031, 3, 31, 12, 0, 0, 0, time.UTC)
	f.Fuzz(func(t *testing.T, text string) {
		got, err := instant(text, now, false)
		if err == nil && age.MatchString(text) && got.After(now) {
			t.Fatalf("%q lies ahead: %v", text, got)
		}
	})
}

func TestSizes(t *testing.T) {
	for n, want := range map[int64]string{0: "0 bytes", 999: "999 bytes", 1000: "1.0 kB", 1_250_000: "1.2 MB", 3_000_000_000: "3.0 GB"} {
		require.Equal(t, want, size(n))
	}
}
