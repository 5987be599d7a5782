package main

import (
	"context"
	"crypto/tls"
	"crypto/x509"
	"net"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestTheTokenIsKeptAndKept(t *testing.T) {
	file := filepath.Join(t.TempDir(), "deep", "token")
	first, err := pageToken(file)
	require.NoError(t, err)
	assert.Len(t, first, 43, "256 bits")
	info, err := os.Stat(file)
	require.NoError(t, err)
	assert.EqualValues(t, 0o600, info.Mode().Perm())
	again, err := pageToken(file)
	require.NoError(t, err)
	assert.Equal(t, first, again)
	require.NoError(t, os.Chmod(file, 0o644))
	_, err = pageToken(file)
	require.ErrorContains(t, err, "others may read the token")
	require.NoError(t, os.WriteFile(file, []byte("short\n"), 0o600))
	_, err = pageToken(file)
	require.ErrorContains(t, err, "at least 32 characters")
	other, err := pageToken(file + "2")
	require.NoError(t, err)
	assert.NotEqual(t, first, other)
}

func TestNamesOfThisMachine(t *testing.T) {
	assert.Equal(t, []string{"127.0.0.1", "localhost", "::1"}, namesOf("127.0.0.1", nil))
	assert.Equal(t, []string{"::1", "localhost", "127.0.0.1"}, namesOf("::1", nil))
	assert.Equal(t, []string{"192.0.2.7", "bench.example"}, namesOf("192.0.2.7", []string{"Bench.Example"}))
	all := namesOf("0.0.0.0", nil)
	assert.Contains(t, all, "127.0.0.1")
	assert.NotContains(t, all, "0.0.0.0")
	assert.Equal(t, []string{"192.0.2.7:443", "[2001:db8::1]:443", "192.0.2.7", "2001:db8::1"}, hostsOf([]string{"192.0.2.7", "2001:db8::1"}, "443", true))
	assert.Equal(t, []string{"192.0.2.7:443"}, hostsOf([]string{"192.0.2.7"}, "443", false))
}

// TestOthersNeedTLS listens on all addresses: it speaks TLS alone, by a certificate whose
// fingerprint was printed and stays.
func TestOthersNeedTLS(t *testing.T) {
	serveHome(t)
	prints := map[string]bool{}
	for range 2 {
		ctx, cancel := context.WithCancel(t.Context())
		out, errs := &lockedText{line: make(chan string, 16)}, &lockedText{}
		done := make(chan int, 1)
		go func() {
			done <- pintle(ctx, []string{"serve", "--listen", "0.0.0.0:0", "--name", "bench.example"}, out, errs)
		}()
		text := <-out.line + <-out.line
		lines := strings.Split(strings.TrimSpace(text), "\n")
		require.Len(t, lines, 3, text)
		address, print := lines[1], strings.TrimPrefix(lines[2], "certificate SHA-256 ")
		prints[print] = true
		require.True(t, strings.HasPrefix(address, "https://"), address)
		base, token, _ := strings.Cut(address, "/#token=")
		port := base[strings.LastIndex(base, ":"):]
		var seen []byte
		client := &http.Client{Timeout: time.Minute, Transport: &http.Transport{TLSClientConfig: &tls.Config{InsecureSkipVerify: true,
			VerifyPeerCertificate: func(raw [][]byte, _ [][]*x509.Certificate) error { seen = raw[0]; return nil }}}}
		ask := func(scheme, host string) int {
			r, err := http.NewRequestWithContext(ctx, "GET", scheme+"127.0.0.1"+port+"/api/runs", nil)
			require.NoError(t, err)
			r.Host = host
			r.Header.Set("Authorization", "Bearer "+token)
			a, err := client.Do(r)
			require.NoError(t, err)
			defer a.Body.Close()
			return a.StatusCode
		}
		assert.Equal(t, http.StatusOK, ask("https://", "127.0.0.1"+port))
		assert.Equal(t, http.StatusOK, ask("https://", "bench.example"+port))
		assert.Equal(t, http.StatusMisdirectedRequest, ask("https://", "other.example"+port))
		assert.Equal(t, http.StatusBadRequest, ask("http://", "127.0.0.1"+port), "no plain HTTP")
		assert.Equal(t, print, fingerprint(seen))
		client.CloseIdleConnections()
		cancel()
		assert.Equal(t, statusPass, <-done, errs.String())
	}
	assert.Len(t, prints, 1, "the fingerprint stays the same")
}

// Who has a certificate gives it, and browsers are shown that one.
func TestAGivenCertificateIsShown(t *testing.T) {
	serveHome(t)
	own, err := makeCertificate([]string{"bench.example"}, time.Now())
	require.NoError(t, err)
	require.NoError(t, os.WriteFile("own.pem", own, 0o600))
	pair, err := tls.X509KeyPair(own, own)
	require.NoError(t, err)
	l, door, print, err := (&app{}).listen(serveOptions{listen: "0.0.0.0:0", names: []string{"bench.example"}, certificate: "own.pem", key: "own.pem"})
	require.NoError(t, err)
	defer l.Close()
	require.True(t, door.TLS)
	require.Equal(t, fingerprint(pair.Certificate[0]), print)
	go func() {
		if c, err := l.Accept(); err == nil {
			_ = c.(*tls.Conn).HandshakeContext(t.Context())
			_ = c.Close()
		}
	}()
	trusted := x509.NewCertPool()
	trusted.AddCert(pair.Leaf)
	_, port, err := net.SplitHostPort(l.Addr().String())
	require.NoError(t, err)
	c, err := tls.Dial("tcp", "127.0.0.1:"+port, &tls.Config{RootCAs: trusted, ServerName: "bench.example"})
	require.NoError(t, err, "it is the one that was given")
	require.NoError(t, c.Close())
}

func TestACertificateThatDoesNotFitIsMadeAnew(t *testing.T) {
	t.Setenv("XDG_CONFIG_HOME", t.TempDir())
	a, err := ownCertificate([]string{"192.0.2.7"})
	require.NoError(t, err)
	b, err := ownCertificate([]string{"192.0.2.7"})
	require.NoError(t, err)
	assert.Equal(t, a.Certificate, b.Certificate)
	c, err := ownCertificate([]string{"192.0.2.8"})
	require.NoError(t, err)
	assert.NotEqual(t, a.Certificate, c.Certificate)
	old, err := makeCertificate([]string{"192.0.2.7"}, time.Now().AddDate(-2, 0, 0))
	require.NoError(t, err)
	pair, err := tls.X509KeyPair(old, old)
	require.NoError(t, err)
	assert.False(t, holds(pair.Leaf, []string{"192.0.2.7"}), "it is over")
}
