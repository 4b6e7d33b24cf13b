package https

import (
	"context"
	"crypto/tls"
	"errors"
	"fmt"
	"log/slog"
	"net"
	"strings"
	"time"

	"golang.org/x/crypto/acme"
)

// handshakeMax is how long a phone may take from connecting to the end of the
// handshake: many round trips of a bad mobile network.
const handshakeMax = 10 * time.Second

// acceptWait is how long the accepting of connections rests after it failed.
const acceptWait = 50 * time.Millisecond

// Listen takes connections in from ln, at most most of them at once (0: ConnsMax),
// and gives them out when their handshake is done: a slow one keeps no other waiting,
// and after ten seconds it ends. With a nil cfg there is no TLS and only the number is
// held down. Closing the result closes ln.
func Listen(ln net.Listener, cfg *tls.Config, most int, log *slog.Logger) net.Listener {
	c := newCrowd(ln, most, cfg == nil)
	if cfg == nil {
		return c
	}
	ctx, stop := context.WithCancel(context.Background())
	l := &listener{Listener: c, cfg: cfg, ready: make(chan net.Conn), log: orSilent(log), ctx: ctx, stop: stop}
	go l.run()
	return l
}

type listener struct {
	net.Listener // a crowd
	cfg          *tls.Config
	ready        chan net.Conn
	log          *slog.Logger
	ctx          context.Context
	stop         context.CancelFunc
}

// Accept gives a connection whose handshake is done.
func (l *listener) Accept() (net.Conn, error) {
	select {
	case c := <-l.ready:
		return c, nil
	case <-l.ctx.Done():
		return nil, net.ErrClosed
	}
}

func (l *listener) Close() error {
	l.stop()
	return l.Listener.Close()
}

func (l *listener) run() {
	defer l.stop()
	for {
		c, err := l.Listener.Accept()
		if err != nil {
			return // the crowd gives up only when it is closed
		}
		go l.shake(c.(*guest))
	}
}

// shake does one handshake and hands the connection on.
func (l *listener) shake(g *guest) {
	ctx, cancel := context.WithTimeout(l.ctx, handshakeMax)
	defer cancel()
	c := tls.Server(g, l.cfg)
	err := c.HandshakeContext(ctx)
	if err == nil && c.ConnectionState().NegotiatedProtocol == acme.ALPNProto {
		c.Close() // an ACME server wants the handshake and nothing more (RFC 8737, section 3)
		return
	}
	if err != nil {
		l.log.Debug("handshake", slog.String("from", g.RemoteAddr().String()), slog.Any("error", err))
		l.explain(g, err)
		g.Close()
		return
	}
	g.isShaken.Store(true)
	select {
	case l.ready <- c:
	case <-l.ctx.Done():
		g.Close()
	}
}

// explain answers somebody who typed http:// for this port in the only language that
// they understand.
func (l *listener) explain(g *guest, err error) {
	var head tls.RecordHeaderError
	if !errors.As(err, &head) || head.Conn == nil || !looksLikeHTTP(head.RecordHeader) {
		return
	}
	g.SetDeadline(time.Now().Add(time.Second))
	const words = "This address speaks HTTPS: type https:// in front of it.\nEsta dirección habla HTTPS: escriba https:// delante.\n"
	fmt.Fprintf(g, "HTTP/1.1 400 Bad Request\r\nContent-Type: text/plain; charset=utf-8\r\nConnection: close\r\nContent-Length: %d\r\n\r\n%s", len(words), words)
}

func looksLikeHTTP(head [5]byte) bool {
	for _, method := range []string{"GET /", "HEAD ", "POST ", "PUT /", "OPTIO", "DELET"} {
		if strings.HasPrefix(string(head[:]), method) {
			return true
		}
	}
	return false
}
