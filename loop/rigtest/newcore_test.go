package rigtest

import (
	"testing"

	"trueup/loop/session/core"
)

// newCore is the core of a run that has not begun yet.
func newCore(t *testing.T, cfg core.Config) *core.Core {
	t.Helper()
	c, err := core.New(cfg)
	if err != nil {
		t.Fatal(err)
	}
	return c
}
