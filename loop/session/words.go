package session

import "trueup/loop/session/core"

// The words of the journal and of the core, for faces that need no more than
// this package.
type (
	Entry       = core.Entry
	Kind        = core.Kind
	RunInfo     = core.RunInfo
	FixtureInfo = core.FixtureInfo
	Reference   = core.Reference
	Step        = core.Step
	Setting     = core.Setting
	SlotValue   = core.SlotValue
	Measured    = core.Measured
	Outcome     = core.Outcome
	Stand       = core.Stand
	Plan        = core.Plan
	Work        = core.Work
)

// ErrStopped is wrapped by the error of a run that a person or a signal ended.
var ErrStopped = core.ErrStopped
