package oserror

import (
	"syscall"

	"golang.org/x/sys/windows"
)

// Sockets of Windows have numbers of their own.
var (
	alsoInUse         = []syscall.Errno{windows.WSAEADDRINUSE}
	alsoNoSuchAddress = []syscall.Errno{windows.WSAEADDRNOTAVAIL}
	alsoNotAllowed    = []syscall.Errno{windows.WSAEACCES}
	alsoRefused       = []syscall.Errno{windows.WSAECONNREFUSED}
	alsoNoRoute       = []syscall.Errno{windows.WSAEHOSTUNREACH, windows.WSAENETUNREACH, windows.WSAENETDOWN, windows.WSAEHOSTDOWN}
	alsoTimedOut      = []syscall.Errno{windows.WSAETIMEDOUT}
	alsoBroken        = []syscall.Errno{windows.WSAECONNRESET, windows.WSAECONNABORTED}
)
