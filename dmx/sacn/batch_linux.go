package sacn

import (
	"net"
	"os"
	"strconv"
	"syscall"
	"time"
	"unsafe"

	"golang.org/x/net/ipv4"
	"golang.org/x/sys/unix"
)

// message is one datagram of a batch.
type message = ipv4.Message

// socketOut writes batches with one system call for many datagrams (sendmmsg).
// It serves IPv6 sockets as well: the address of each message names its family.
//
// Its descriptor is not watched by the runtime's poller: the system would tell it of
// room in the buffer after each datagram, and wake a thread for it.
type socketOut struct {
	fd    int
	heads []mmsghdr // of the batch at hand, with what they point to
	parts []unix.Iovec
	to4   []unix.RawSockaddrInet4
	to6   []unix.RawSockaddrInet6
	zones map[string]uint32 // interfaces that addresses name, by their index
}

// mmsghdr is that of sendmmsg(2).
type mmsghdr struct {
	head unix.Msghdr
	_    uint32 // how much of it was sent, by the system
}

// newSocketOut takes a socket over; c is closed.
func newSocketOut(c *net.UDPConn) (*socketOut, error) {
	defer c.Close()
	raw, err := c.SyscallConn()
	if err != nil {
		return nil, err
	}
	o := &socketOut{zones: map[string]uint32{}}
	if cerr := raw.Control(func(fd uintptr) { o.fd, err = unix.FcntlInt(fd, unix.F_DUPFD_CLOEXEC, 0) }); cerr != nil {
		return nil, cerr
	}
	return o, os.NewSyscallError("dup", err)
}

// Close implements out.
func (o *socketOut) Close() error { return unix.Close(o.fd) }

// WriteBatch implements out. The first try does not wait, so that it is made
// even where until has passed; only a full buffer does.
func (o *socketOut) WriteBatch(ms []message, until time.Time) (int, error) {
	if len(ms) == 0 {
		return 0, nil
	}
	if err := o.pack(ms); err != nil {
		return 0, err
	}
	for {
		n, errno := o.push()
		switch {
		case errno == 0:
			return n, nil
		case errno != unix.EAGAIN:
			return 0, os.NewSyscallError("sendmmsg", errno)
		}
		left := time.Until(until)
		if left <= 0 {
			return 0, os.ErrDeadlineExceeded
		}
		room := []unix.PollFd{{Fd: int32(o.fd), Events: unix.POLLOUT}}
		if _, err := unix.Poll(room, int(left/time.Millisecond)+1); err != nil && err != unix.EINTR {
			return 0, os.NewSyscallError("poll", err)
		}
	}
}

// push makes the call. It does not block, so the scheduler is not told of it:
// that would wake its watcher thread at every frame, which costs more than the
// datagram of one universe does.
func (o *socketOut) push() (int, syscall.Errno) {
	for {
		n, _, errno := unix.RawSyscall6(unix.SYS_SENDMMSG, uintptr(o.fd), uintptr(unsafe.Pointer(&o.heads[0])), uintptr(len(o.heads)), unix.MSG_DONTWAIT, 0, 0)
		if errno != unix.EINTR {
			return int(n), errno
		}
	}
}

// pack fills the headers of a batch.
func (o *socketOut) pack(ms []message) error {
	if n := len(ms); n > cap(o.heads) {
		o.heads, o.parts = make([]mmsghdr, n), make([]unix.Iovec, n)
		o.to4, o.to6 = make([]unix.RawSockaddrInet4, n), make([]unix.RawSockaddrInet6, n)
	}
	o.heads = o.heads[:len(ms)]
	for i := range ms {
		addr, ok := ms[i].Addr.(*net.UDPAddr)
		if !ok || len(ms[i].Buffers) != 1 || len(ms[i].Buffers[0]) == 0 {
			return net.InvalidAddrError("not one buffer for a UDP address")
		}
		h, port := &o.heads[i].head, uint16(addr.Port)
		o.parts[i].Base = &ms[i].Buffers[0][0]
		o.parts[i].SetLen(len(ms[i].Buffers[0]))
		h.Iov = &o.parts[i]
		h.SetIovlen(1)
		if ip := addr.IP.To4(); ip != nil {
			a := &o.to4[i]
			a.Family = unix.AF_INET
			be.PutUint16((*[2]byte)(unsafe.Pointer(&a.Port))[:], port)
			copy(a.Addr[:], ip)
			h.Name, h.Namelen = (*byte)(unsafe.Pointer(a)), unix.SizeofSockaddrInet4
		} else {
			a := &o.to6[i]
			a.Family = unix.AF_INET6
			be.PutUint16((*[2]byte)(unsafe.Pointer(&a.Port))[:], port)
			copy(a.Addr[:], addr.IP)
			if addr.Zone != "" {
				zone, err := o.zone(addr.Zone)
				if err != nil {
					return err
				}
				a.Scope_id = zone
			}
			h.Name, h.Namelen = (*byte)(unsafe.Pointer(a)), unix.SizeofSockaddrInet6
		}
	}
	return nil
}

// zone is the index of an interface that an address names (fe80::1%eth0). One that
// comes back under another number needs a new socket, as everywhere here.
func (o *socketOut) zone(name string) (uint32, error) {
	if z, ok := o.zones[name]; ok {
		return z, nil
	}
	z, err := strconv.ParseUint(name, 10, 32)
	if err != nil {
		ifi, err := net.InterfaceByName(name)
		if err != nil {
			return 0, err
		}
		z = uint64(ifi.Index)
	}
	o.zones[name] = uint32(z)
	return uint32(z), nil
}
