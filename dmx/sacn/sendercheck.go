package sacn

import (
	"errors"
	"fmt"
	"time"

	"trueup/dmx"
)

// check says what is wrong with a configuration before anything is opened.
func (cfg *SenderConfig) check() error {
	switch {
	case cfg.CID == CID{}:
		return errors.New("the CID is not set")
	case cfg.Priority > MaxPriority:
		return fmt.Errorf("priority %d: the highest is %d", cfg.Priority, MaxPriority)
	case cfg.SyncAddress != 0 && !cfg.SyncAddress.Valid():
		return fmt.Errorf("synchronization address %d: want 1..%d", cfg.SyncAddress, dmx.MaxUniverse)
	case cfg.SyncDelay < 0 || cfg.SyncDelay > 20*time.Millisecond:
		return fmt.Errorf("synchronization delay %v: want 0..20ms", cfg.SyncDelay)
	case len(cfg.Universes) == 0:
		return errors.New("no universe to send")
	case !cfg.Multicast && len(cfg.Unicast) == 0:
		return errors.New("nowhere to send to: neither multicast nor a unicast address")
	}
	seen := map[dmx.Universe]bool{}
	for _, u := range cfg.Universes {
		if !u.Valid() {
			return fmt.Errorf("universe %d: want 1..%d", u, dmx.MaxUniverse)
		}
		if seen[u] {
			return fmt.Errorf("universe %d is listed twice", u)
		}
		seen[u] = true
	}
	for _, a := range cfg.Unicast {
		if !a.IsValid() || a.Port() == 0 || a.Addr().IsMulticast() || a.Addr().IsUnspecified() {
			return fmt.Errorf("unicast %q: want the address and port of one receiver, such as 10.0.0.7:5568", a)
		}
	}
	return nil
}
