//go:build !windows

package oserror

import "syscall"

// Elsewhere the names that package syscall has are all there is.
var alsoInUse, alsoNoSuchAddress, alsoNotAllowed, alsoRefused, alsoNoRoute, alsoTimedOut, alsoBroken []syscall.Errno
