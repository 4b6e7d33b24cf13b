package https

import (
	"context"
	"crypto/tls"
	"crypto/x509"
	"fmt"
	"log/slog"
	"net"
	"net/http"
	"os"
	"path/filepath"
	"slices"
	"time"

	"golang.org/x/crypto/acme"
	"golang.org/x/crypto/acme/autocert"
)

// warnLeft is how long before its end a public certificate that was not renewed is
// spoken of. Renewal begins at a third of its life or 30 days, whichever is less, so
// this long means that it failed for a while.
const warnLeft = 14 * day

// fetchMax bounds one fetching of a certificate.
const fetchMax = 5 * time.Minute

// PublicOptions of a Public. Dir and Domains must be set.
type PublicOptions struct {
	Dir       string           // of account and certificates; made with mode 0700
	Domains   []string         // the names that certificates are fetched for, and no others
	Directory string           // address of the ACME server; "": Let's Encrypt
	Email     string           // told to the ACME server; may be empty
	Trust     string           // file of PEM roots for talking to the ACME server; "": the machine's
	Now       func() time.Time // nil: the machine's clock; only for the warning
	Slog      *slog.Logger     // nil: silent
}

// Public serves certificates for public names.
type Public struct {
	o       PublicOptions
	manager *autocert.Manager
}

// OpenPublic makes ready; nothing is fetched yet. Its errors are *HostError and
// those of the disk.
func OpenPublic(o PublicOptions) (*Public, error) {
	o.Now, o.Slog = orNow(o.Now), orSilent(o.Slog)
	if len(o.Domains) == 0 {
		return nil, &HostError{"", "--https acme needs --domain, the name of this server in public"}
	}
	for _, d := range o.Domains {
		if err := checkDomain(d); err != nil {
			return nil, err
		}
	}
	if err := os.MkdirAll(o.Dir, 0o700); err != nil {
		return nil, fmt.Errorf("make the folder of certificates: %w", err)
	}
	client := &acme.Client{DirectoryURL: o.Directory, HTTPClient: &http.Client{Timeout: time.Minute}}
	if client.DirectoryURL == "" {
		client.DirectoryURL = acme.LetsEncryptURL
	}
	if o.Trust != "" {
		b, err := os.ReadFile(o.Trust)
		if err != nil {
			return nil, fmt.Errorf("read the roots of the ACME server: %w", err)
		}
		pool := x509.NewCertPool()
		if !pool.AppendCertsFromPEM(b) {
			return nil, fmt.Errorf("read the roots of the ACME server: no certificate in %s", o.Trust)
		}
		client.HTTPClient.Transport = &http.Transport{Proxy: http.ProxyFromEnvironment, TLSClientConfig: &tls.Config{RootCAs: pool}}
	}
	return &Public{o, &autocert.Manager{Prompt: autocert.AcceptTOS, Cache: autocert.DirCache(o.Dir), HostPolicy: autocert.HostWhitelist(o.Domains...),
		Client: client, Email: o.Email}}, nil
}

// checkDomain refuses what no public authority would sign.
func checkDomain(d string) error {
	if net.ParseIP(d) != nil {
		return &HostError{d, "--domain takes a name, not an address"}
	}
	if err := checkName(d); err != nil {
		return err
	}
	if CheckHost(d) == nil {
		return &HostError{d, "the name is private: take --https local"}
	}
	return nil
}

// TLS is the configuration to serve with. Not the manager's own: that offers HTTP/2.
func (p *Public) TLS() *tls.Config {
	return config(p.manager.GetCertificate, acme.ALPNProto)
}

// Fetch gets the certificate of a domain: a good one that is kept, or a new one, for
// which the ACME server must reach this server at the domain's port 443 meanwhile.
func (p *Public) Fetch(ctx context.Context, domain string) (*x509.Certificate, error) {
	ctx, cancel := context.WithTimeout(ctx, fetchMax)
	defer cancel()
	type answer struct {
		cert *tls.Certificate
		err  error
	}
	done := make(chan answer, 1)
	go func() {
		cert, err := p.manager.GetCertificate(hello(domain))
		done <- answer{cert, err}
	}()
	select {
	case a := <-done:
		if a.err != nil {
			return nil, fmt.Errorf("a certificate for %s: %w", domain, a.err)
		}
		return a.cert.Leaf, nil
	case <-ctx.Done():
		return nil, fmt.Errorf("a certificate for %s: %w", domain, ctx.Err())
	}
}

// hello is what a present-day browser says, so that an ECDSA certificate is fetched.
func hello(domain string) *tls.ClientHelloInfo {
	return &tls.ClientHelloInfo{ServerName: domain, SupportedVersions: []uint16{tls.VersionTLS13, tls.VersionTLS12},
		SignatureSchemes: []tls.SignatureScheme{tls.ECDSAWithP256AndSHA256}, SupportedCurves: []tls.CurveID{tls.CurveP256},
		CipherSuites: []uint16{tls.TLS_ECDHE_ECDSA_WITH_AES_128_GCM_SHA256}}
}

// Watch fetches the certificates at once, so that no phone waits for them, and looks
// at them every hour until ctx is done. The manager renews by itself; Watch says so
// when that has not happened in time.
func (p *Public) Watch(ctx context.Context) {
	tick := time.NewTicker(time.Hour)
	defer tick.Stop()
	for {
		p.Look(ctx)
		select {
		case <-ctx.Done():
			return
		case <-tick.C:
		}
	}
}

// Look fetches what is missing and warns of what ends within 14 days.
func (p *Public) Look(ctx context.Context) {
	for _, d := range p.o.Domains {
		cert, err := p.Fetch(ctx, d)
		switch {
		case ctx.Err() != nil:
			return
		case err != nil:
			p.o.Slog.Error("no certificate: phones keep recording and cannot send", slog.String("domain", d), slog.Any("error", err))
		case cert.NotAfter.Sub(p.o.Now()) < min(warnLeft, cert.NotAfter.Sub(cert.NotBefore)/3):
			p.o.Slog.Warn("the certificate ends soon and was not renewed: can the ACME server reach port 443 here?", slog.String("domain", d), slog.Time("ends", cert.NotAfter))
		default:
			p.o.Slog.Debug("certificate", slog.String("domain", d), slog.Time("ends", cert.NotAfter))
		}
	}
}

// Hosts are the domains.
func (p *Public) Hosts() []string { return slices.Clone(p.o.Domains) }

// Folder is where the certificates of either way lie under a data folder.
func Folder(data string) string { return filepath.Join(data, "https") }
