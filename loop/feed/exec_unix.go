//go:build unix

package feed

import (
	"os/exec"
	"syscall"
)

// ownGroup puts a program and whatever it starts into a group of their own, so
// that all of it can be ended.
func ownGroup(cmd *exec.Cmd) { cmd.SysProcAttr = &syscall.SysProcAttr{Setpgid: true} }

// killGroup asks the group to end, or ends it.
func killGroup(cmd *exec.Cmd, hard bool) {
	sig := syscall.SIGTERM
	if hard {
		sig = syscall.SIGKILL
	}
	syscall.Kill(-cmd.Process.Pid, sig)
}
