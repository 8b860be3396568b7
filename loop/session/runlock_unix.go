//go:build unix

package session

import (
	"os"

	"golang.org/x/sys/unix"
)

// ClaimDir is the folder that all users of this machine share. The user's own
// temporary folder would hide one user's run from another's.
func ClaimDir() (string, error) {
	const shared = "/tmp" // POSIX.1-2017, 10.1
	if i, err := os.Stat(shared); err == nil && i.IsDir() {
		return shared, nil
	}
	return os.TempDir(), nil
}

// lockFile takes the lock of an open file, or fails at once. It ends with the
// file, and with the process.
func lockFile(f *os.File) error { return unix.Flock(int(f.Fd()), unix.LOCK_EX|unix.LOCK_NB) }

// networkOfThisProcess names the network that this process sees, where the
// system can part them (network_namespaces(7)); "" where there is but one.
func networkOfThisProcess() string {
	name, err := os.Readlink("/proc/self/ns/net")
	if err != nil {
		return ""
	}
	return name
}
