package solve

import (
	"errors"
	"time"
)

// Match is one head on its way to one target. It is not safe for concurrent use.
type Match struct {
	spec   Spec
	target Target
	opt    Options
}

// New starts a match. prior may be nil (a fresh unit). Errors name the field of
// spec, target or prior that can not be used.
func New(spec Spec, target Target, prior *Prior, opt Options) (*Match, error) {
	if len(spec.Channels) == 0 {
		return nil, errors.New("head has no channels to move")
	}
	return &Match{spec: spec, target: target, opt: opt}, nil
}

// Next decides. at is the time on the match's own clock.
func (m *Match) Next(at time.Duration) Decision {
	return Decision{Action: Done, Outcome: Held, Reason: "nothing to decide"}
}

// Observe learns from a reading and says what it made of it.
func (m *Match) Observe(r Reading) Account { return Account{} }

// Posterior is what is known of the head now.
func (m *Match) Posterior() Prior { return Prior{Kind: m.spec.Kind} }
