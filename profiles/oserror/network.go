package oserror

import (
	"crypto/tls"
	"crypto/x509"
	"errors"
	"net"
	"os"
	"slices"
	"syscall"
)

// ofNetwork has the words for what a socket says, with the address it was about; ""
// for what no socket said.
func ofNetwork(err error) string {
	switch e := err.(type) {
	case *net.OpError:
		return ofSocket(e)
	case *net.DNSError:
		return ofName(e)
	case tls.RecordHeaderError:
		return "the other side does not speak TLS at this port: another port, or an address without TLS"
	case *tls.CertificateVerificationError:
		return "its certificate is not trusted: " + Text(e.Err)
	case x509.UnknownAuthorityError:
		return "it is signed by nobody that this machine knows; name the certificate of who signed it"
	}
	return ""
}

func ofSocket(e *net.OpError) string {
	var name *net.DNSError
	if errors.As(e.Err, &name) {
		return ofName(name)
	}
	at := "the other side"
	if e.Addr != nil && e.Addr.String() != "" {
		at = e.Addr.String()
	}
	switch {
	case is(e, addressInUse):
		return "another program on this machine has " + at + " already: end it, or take another port"
	case is(e, noSuchAddress):
		return "this machine has no address " + at + ": write one that it has"
	case is(e, notAllowed):
		return "the system does not let this user have " + at + ": ports below 1024 want more rights, and a firewall may forbid it"
	case is(e, refused):
		return "nothing answers at " + at + ": what should be there is off, or its port is another"
	case is(e, noRoute):
		return "there is no way to " + at + ": look at cable, network interface and address"
	case e.Timeout(), is(e, timedOut), errors.Is(e, os.ErrDeadlineExceeded):
		return at + " does not answer: it is off, its address is another, or a firewall is between"
	case is(e, broken), errors.Is(e, net.ErrClosed):
		return "the connection to " + at + " broke off"
	}
	if e.Op == "dial" {
		return "no connection to " + at + ": " + Text(e.Err)
	}
	return ""
}

func ofName(e *net.DNSError) string {
	if e.IsNotFound {
		return "no machine on the network is called " + e.Name + ": look at the name, or write its address in numbers"
	}
	return "the address of " + e.Name + " can not be found out: the network's name server does not answer; write the address in numbers"
}

// What systems call the same thing; each system adds its own numbers.
var (
	addressInUse  = append(alsoInUse, syscall.EADDRINUSE)
	noSuchAddress = append(alsoNoSuchAddress, syscall.EADDRNOTAVAIL)
	notAllowed    = append(alsoNotAllowed, syscall.EACCES, syscall.EPERM)
	refused       = append(alsoRefused, syscall.ECONNREFUSED)
	noRoute       = append(alsoNoRoute, syscall.EHOSTUNREACH, syscall.ENETUNREACH, syscall.ENETDOWN, syscall.EHOSTDOWN)
	timedOut      = append(alsoTimedOut, syscall.ETIMEDOUT)
	broken        = append(alsoBroken, syscall.ECONNRESET, syscall.ECONNABORTED, syscall.EPIPE)
)

func is(err error, numbers []syscall.Errno) bool {
	var number syscall.Errno
	return errors.As(err, &number) && slices.Contains(numbers, number)
}
