//go:build !unix

package feed

import "os/exec"

func ownGroup(*exec.Cmd) {}

func killGroup(cmd *exec.Cmd, _ bool) { cmd.Process.Kill() }
