package api

import (
	"encoding/binary"
	"net"
	"syscall"
	"time"
)

// Of linux/tcp.h; package syscall has the second only.
const (
	tcpUserTimeout = 18
	tcpInfo        = syscall.TCP_INFO
	established    = 1
)

// socket looks at the TCP connection below a stream. The zero value, for
// connections of another kind, never tells that the other end is gone.
type socket struct{ raw syscall.RawConn }

// socketOf has the system end a connection whose other end acknowledges nothing
// for patience: else what is written to a phone that walked out of reach goes into
// the buffer, and the system tries for a quarter of an hour.
func socketOf(c net.Conn, patience time.Duration) socket {
	if wrapped, ok := c.(interface{ NetConn() net.Conn }); ok { // of TLS
		c = wrapped.NetConn()
	}
	tcp, ok := c.(*net.TCPConn)
	if !ok {
		return socket{}
	}
	raw, err := tcp.SyscallConn()
	if err != nil {
		return socket{}
	}
	s := socket{raw}
	s.control(func(fd int) {
		syscall.SetsockoptInt(fd, syscall.IPPROTO_TCP, tcpUserTimeout, int(patience.Milliseconds())) // an old system keeps its own
	})
	return s
}

// isGone tells that the connection was ended, by the other end or by the system.
func (s socket) isGone() (is bool) {
	if s.raw == nil {
		return false
	}
	ok := s.control(func(fd int) {
		v, err := syscall.GetsockoptInt(fd, syscall.IPPROTO_TCP, tcpInfo)
		first := binary.NativeEndian.AppendUint32(nil, uint32(v))[0] // the state is the first byte
		is = err == nil && first != established
	})
	return is || !ok
}

// control is false when the connection is closed already.
func (s socket) control(fn func(fd int)) bool {
	return s.raw.Control(func(fd uintptr) { fn(int(fd)) }) == nil
}
