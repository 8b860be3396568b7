package oserror

import (
	"context"
	"errors"
	"io"
	"io/fs"
	"os"
	"os/exec"
	"syscall"
)

// ofFile has the words for what a file or a program's start came to; "" for the rest.
func ofFile(err error) string {
	switch e := err.(type) {
	case *fs.PathError:
		return ofPath(e.Path, e.Err)
	case *os.LinkError:
		return ofPath(e.New, e.Err)
	case *exec.Error:
		if errors.Is(e, exec.ErrNotFound) || errors.Is(e, fs.ErrNotExist) {
			return "there is no program " + e.Name + " on this machine: install it, or write its whole path"
		}
		return e.Name + " can not be started: " + Text(e.Err)
	}
	return ""
}

func ofPath(path string, err error) string {
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return "there is no " + path + ": look at the name and at the folder"
	case errors.Is(err, fs.ErrExist):
		return path + " is there already: take another name"
	case errors.Is(err, fs.ErrPermission):
		return path + ": this user is not allowed to; change its permissions or take another folder"
	case errors.Is(err, syscall.ENOTDIR):
		return path + ": part of this path is a file, not a folder"
	case errors.Is(err, syscall.EISDIR):
		return path + " is a folder, and a file is wanted"
	}
	return path + ": " + Text(err)
}

// ofSystem has the words for what stands without a place: a number of the system's,
// an end that came too early, a time that has run out; "" for the rest.
func ofSystem(err error) string {
	switch err {
	case io.EOF, io.ErrUnexpectedEOF:
		return "it ended too early"
	case context.DeadlineExceeded, os.ErrDeadlineExceeded:
		return "it took too long"
	case context.Canceled:
		return "it was stopped"
	}
	if e, ok := err.(*os.SyscallError); ok {
		return Text(e.Err)
	}
	number, ok := err.(syscall.Errno)
	switch {
	case !ok:
		return ""
	case number == syscall.ENOSPC:
		return "the disk is full"
	case number == syscall.EROFS:
		return "this disk can only be read"
	case number == syscall.EIO:
		return "the device has a fault, or was pulled out"
	case number == syscall.EMFILE, number == syscall.ENFILE:
		return "too many files and connections are open at once"
	case number == syscall.ENXIO, number == syscall.ENODEV:
		return "the device is not there"
	case number == syscall.EBUSY:
		return "another program has it"
	case is(number, refused):
		return "nothing answers there"
	case is(number, noRoute):
		return "there is no way there: look at cable, network interface and address"
	case is(number, addressInUse):
		return "another program on this machine has this address and port already"
	case is(number, noSuchAddress):
		return "this machine has no such address"
	case is(number, timedOut):
		return "no answer came"
	case is(number, broken):
		return "the connection broke off"
	case is(number, notAllowed):
		return "the system does not let this user"
	}
	return ""
}
