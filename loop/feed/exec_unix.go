//go:build unix

package feed

import (
	"os/exec"
	"syscall"
)

// ownGroup puts a program and whatever it starts into a group of their own, so
// that all of it can be ended.
func ownGroup(cmd *exec.Cmd) { cmd.SysProcAttr = &syscall.SysProcAttr{Setpgid: true} }

func killGroup(cmd *exec.Cmd) {
	if cmd.Process != nil {
		syscall.Kill(-cmd.Process.Pid, syscall.SIGTERM)
	}
}
