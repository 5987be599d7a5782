package main

import (
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/sha256"
	"crypto/tls"
	"crypto/x509"
	"crypto/x509/pkix"
	"encoding/base64"
	"encoding/pem"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"math/big"
	"net"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"pintle/reports/livepage"
	"pintle/rig/atomicfile"
)

// configured names a file of the user's own.
func configured(name string) (string, error) {
	home, err := os.UserConfigDir()
	if err != nil {
		return "", fmt.Errorf("find your configuration folder: %w; name a file with --token", err)
	}
	return filepath.Join(home, "pintle", name), nil
}

// pageToken reads the token, or makes one: 256 bits that nobody else may read.
func pageToken(file string) (string, error) {
	if file == "" {
		var err error
		if file, err = configured("page-token"); err != nil {
			return "", err
		}
	}
	text, err := os.ReadFile(file)
	if errors.Is(err, fs.ErrNotExist) {
		return newToken(file)
	}
	if err != nil {
		return "", fmt.Errorf("read the page's token: %w", err)
	}
	token := strings.TrimSpace(string(text))
	if len(token) < 32 || strings.ContainsAny(token, " \t\r\n#&") {
		return "", fmt.Errorf("%s does not hold a token of at least 32 characters: delete it, and a good one is made", file)
	}
	if info, err := os.Stat(file); err == nil && info.Mode().Perm()&0o077 != 0 {
		return "", fmt.Errorf("others may read the token in %s: chmod 600 %s, or delete it, and a new one is made", file, file)
	}
	return token, nil
}

func newToken(file string) (string, error) {
	b := make([]byte, 32)
	_, _ = rand.Read(b) // it never fails: crypto/rand
	token := base64.RawURLEncoding.EncodeToString(b)
	return token, keepSecret(file, []byte(token+"\n"))
}

func keepSecret(file string, text []byte) error {
	if err := os.MkdirAll(filepath.Dir(file), 0o700); err != nil {
		return fmt.Errorf("make the folder of %s: %w", file, err)
	}
	return atomicfile.Write(file, 0o600, func(w io.Writer) error {
		_, err := w.Write(text)
		return err
	})
}

// namesOf are the names under which browsers may ask for a host.
func namesOf(host string, more []string) []string {
	var names []string
	ip := net.ParseIP(host)
	switch {
	case livepage.Loopback(host):
		names = []string{"127.0.0.1", "localhost", "::1"}
		if i := slices.Index(names, host); i > 0 {
			names[0], names[i] = names[i], names[0]
		}
	case ip != nil && ip.IsUnspecified():
		if own, err := os.Hostname(); err == nil {
			names = append(names, own, own+".local")
		}
		addresses, _ := net.InterfaceAddrs()
		for _, a := range addresses {
			if n, ok := a.(*net.IPNet); ok && !n.IP.IsLinkLocalUnicast() {
				names = append(names, n.IP.String())
			}
		}
	default:
		names = []string{host}
	}
	for i, n := range append(names, more...) {
		n = strings.ToLower(n)
		if i >= len(names) {
			names = append(names, n)
		} else {
			names[i] = n
		}
	}
	return names
}

// hostsOf are what a browser then writes into Host.
func hostsOf(names []string, port string, secure bool) []string {
	var hosts []string
	for _, n := range names {
		hosts = append(hosts, net.JoinHostPort(n, port))
	}
	if secure && port == "443" || !secure && port == "80" {
		hosts = append(hosts, names...)
	}
	return hosts
}

// pageTLS gives the certificate that was named, or one made here, and its fingerprint.
func pageTLS(o serveOptions, names []string) (*tls.Config, string, error) {
	var pair tls.Certificate
	var err error
	if o.certificate != "" {
		if pair, err = tls.LoadX509KeyPair(o.certificate, o.key); err != nil {
			return nil, "", fmt.Errorf("read the TLS certificate: %w", err)
		}
	} else if pair, err = ownCertificate(names); err != nil {
		return nil, "", err
	}
	return &tls.Config{Certificates: []tls.Certificate{pair}, MinVersion: tls.VersionTLS12}, fingerprint(pair.Certificate[0]), nil
}

func fingerprint(der []byte) string {
	sum := sha256.Sum256(der)
	return strings.ReplaceAll(fmt.Sprintf("% X", sum[:]), " ", ":")
}

// ownCertificate gives the certificate made earlier, so that its fingerprint stays, or a
// new one where that does not hold any more.
func ownCertificate(names []string) (tls.Certificate, error) {
	file, err := configured("page-certificate.pem")
	if err != nil {
		return tls.Certificate{}, err
	}
	if text, err := os.ReadFile(file); err == nil {
		if pair, err := tls.X509KeyPair(text, text); err == nil && holds(pair.Leaf, names) {
			return pair, nil
		}
	}
	text, err := makeCertificate(names, time.Now())
	if err != nil {
		return tls.Certificate{}, fmt.Errorf("make a TLS certificate: %w", err)
	}
	if err := keepSecret(file, text); err != nil {
		return tls.Certificate{}, err
	}
	return tls.X509KeyPair(text, text)
}

// holds says that a certificate is for all names, for a while yet.
func holds(c *x509.Certificate, names []string) bool {
	if c == nil || time.Now().AddDate(0, 0, 14).After(c.NotAfter) {
		return false
	}
	for _, n := range names {
		if c.VerifyHostname(n) != nil {
			return false
		}
	}
	return true
}

// makeCertificate makes a key and a certificate of its own signature, good for a year.
func makeCertificate(names []string, now time.Time) ([]byte, error) {
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		return nil, err
	}
	serial, err := rand.Int(rand.Reader, new(big.Int).Lsh(big.NewInt(1), 120))
	if err != nil {
		return nil, err
	}
	c := &x509.Certificate{SerialNumber: serial, Subject: pkix.Name{CommonName: "pintle bench"}, NotBefore: now.Add(-time.Hour), NotAfter: now.AddDate(1, 0, 0),
		KeyUsage: x509.KeyUsageDigitalSignature, ExtKeyUsage: []x509.ExtKeyUsage{x509.ExtKeyUsageServerAuth}, BasicConstraintsValid: true}
	for _, n := range names {
		if ip := net.ParseIP(n); ip != nil {
			c.IPAddresses = append(c.IPAddresses, ip)
		} else {
			c.DNSNames = append(c.DNSNames, n)
		}
	}
	der, err := x509.CreateCertificate(rand.Reader, c, c, key.Public(), key)
	if err != nil {
		return nil, err
	}
	secret, err := x509.MarshalPKCS8PrivateKey(key)
	if err != nil {
		return nil, err
	}
	return append(pem.EncodeToMemory(&pem.Block{Type: "CERTIFICATE", Bytes: der}), pem.EncodeToMemory(&pem.Block{Type: "PRIVATE KEY", Bytes: secret})...), nil
}
