package session

import (
	"os"
	"path/filepath"

	"golang.org/x/sys/windows"
)

// ClaimDir is a folder that all users of this machine share.
func ClaimDir() (string, error) {
	root := os.Getenv("ProgramData")
	if root == "" {
		root = os.TempDir()
	}
	dir := filepath.Join(root, "trueup")
	return dir, os.MkdirAll(dir, 0o777)
}

// lockFile takes the lock of an open file, or fails at once. It ends with the
// file, and with the process. The byte locked lies far behind the content,
// which others could not read otherwise.
func lockFile(f *os.File) error {
	behind := &windows.Overlapped{OffsetHigh: 1 << 30}
	return windows.LockFileEx(windows.Handle(f.Fd()), windows.LOCKFILE_EXCLUSIVE_LOCK|windows.LOCKFILE_FAIL_IMMEDIATELY, 0, 1, 0, behind)
}

// networkOfThisProcess: this system has but one.
func networkOfThisProcess() string { return "" }
