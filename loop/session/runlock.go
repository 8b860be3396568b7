package session

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"sync"
	"time"

	"trueup/profiles/userfile"
)

const (
	claimPrefix = "trueup-run-"
	gateName    = "trueup-runs.lock"
	maxClaims   = 1000 // files looked at; more is nobody's doing but an attacker's

	gatePatience = 2 * time.Second
	gateAgain    = 10 * time.Millisecond // a closed gate is tried again

	// Other users read our files, and lock the gate, for which reading is enough.
	readableByAll = 0o644
)

// ErrOtherRun is wrapped by the error that names another run on this machine.
var ErrOtherRun = errors.New("another run is at work on this machine")

var ownPID = os.Getpid()

// LockRun makes c the only run of its kind on this machine until release is
// called or the process ends, however it ends: the system gives up the locks of
// a dead process. Where another run stands against it the error wraps
// [ErrOtherRun] and names that run. dir is [ClaimDir] outside of tests.
func LockRun(dir string, c Claim) (release func(), err error) {
	fail := func(err error) (func(), error) {
		return nil, fmt.Errorf("making sure that no other run drives the same fixtures: %w", err)
	}
	gate, err := passGate(dir)
	if err != nil {
		return fail(err)
	}
	defer gate.Close()
	names, err := filepath.Glob(filepath.Join(dir, claimPrefix+"*.json"))
	if err != nil {
		return fail(err)
	}
	for _, name := range names[:min(len(names), maxClaims)] {
		other, alive := readClaim(name)
		if !alive {
			_ = os.Remove(name) // another user's stays: it stands against nobody
			continue
		}
		if why := c.Against(other); why != "" {
			return nil, fmt.Errorf("%w (%v): %s. End it first", ErrOtherRun, other, why)
		}
	}
	text, err := json.Marshal(c)
	if err != nil {
		return fail(err)
	}
	f, err := os.CreateTemp(dir, claimPrefix+"*.json")
	if err != nil {
		return fail(err)
	}
	if _, err = f.Write(text); err == nil {
		err = f.Chmod(readableByAll)
	}
	if err == nil {
		err = lockFile(f)
	}
	if err != nil {
		f.Close()
		os.Remove(f.Name())
		return fail(err)
	}
	return sync.OnceFunc(func() {
		_ = os.Remove(f.Name())
		f.Close()
		_ = os.Remove(f.Name()) // on systems where an open file cannot be removed
	}), nil
}

// passGate lets one run at a time look at the claims of the others and make its
// own. The gate is held for milliseconds.
func passGate(dir string) (*os.File, error) {
	return LockFile(filepath.Join(dir, gateName))
}

// LockFile takes the lock of a file, made where there is none, and waits some seconds for another that holds it. The lock ends with
// the file that is returned, and with the process.
func LockFile(path string) (*os.File, error) {
	for end := time.Now().Add(gatePatience); ; {
		f, err := userfile.Open(path, userfile.Claim)
		if errors.Is(err, os.ErrNotExist) {
			if f, err = os.OpenFile(path, os.O_WRONLY|os.O_CREATE|os.O_EXCL, readableByAll); err == nil {
				err = f.Chmod(readableByAll) // whatever the umask
			}
		}
		if err == nil {
			if err = lockFile(f); err == nil {
				return f, nil
			}
		}
		if f != nil {
			f.Close()
		}
		if time.Now().After(end) {
			return nil, fmt.Errorf("%s: %w", path, err)
		}
		time.Sleep(gateAgain)
	}
}

// readClaim reads what another run claims, and tells whether that run is alive:
// it then holds the lock of its file. What cannot be read claims nothing.
func readClaim(path string) (c Claim, alive bool) {
	f, err := userfile.Open(path, userfile.Claim)
	if err != nil {
		return Claim{}, true
	}
	defer f.Close()
	if lockFile(f) == nil {
		return Claim{}, false
	}
	text, err := io.ReadAll(io.LimitReader(f, userfile.Claim.Max))
	if err != nil || json.Unmarshal(text, &c) != nil {
		return Claim{}, true
	}
	return c, true
}
