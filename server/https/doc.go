// Package https gives phones an address that they trust. Without one there is no
// service worker and a phone does not work offline (W3C Secure Contexts). Two ways:
//
//   - [Local]: a root of the shop's own and a certificate under it, for a network
//     without a public name. Each phone is led through trusting the root once, by the
//     pages of [Trust]. What the root may vouch for is limited to private names and
//     private addresses, so that whoever steals its key cannot pose as a bank.
//   - [Public]: a certificate for a public name, fetched and renewed by ACME
//     (RFC 8555) with the challenge TLS-ALPN-01 (RFC 8737), over the same port.
//
// Both renew while serving: each handshake asks for the present certificate.
// [Listen] takes connections in, holds their number down and lets no slow handshake
// keep another waiting. [Origins] remembers where phones have synced, because a
// browser keeps what was not sent yet under the address where it was recorded.
//
// Time is an argument throughout; the zero value is the machine's clock.
package https

import (
	"crypto/tls"
	"log/slog"
	"time"
)

// day is 24 h, as certificates count.
const day = 24 * time.Hour

// config is what both ways of TLS have in common. HTTP/1.1 only: the server behind
// it does not speak HTTP/2, and a browser that was offered it would take it.
func config(get func(*tls.ClientHelloInfo) (*tls.Certificate, error), more ...string) *tls.Config {
	return &tls.Config{MinVersion: tls.VersionTLS12, NextProtos: append([]string{"http/1.1"}, more...), GetCertificate: get}
}

func orNow(now func() time.Time) func() time.Time {
	if now == nil {
		return time.Now
	}
	return now
}

func orSilent(log *slog.Logger) *slog.Logger {
	if log == nil {
		return slog.New(slog.DiscardHandler)
	}
	return log
}
