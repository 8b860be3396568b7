package sacn

import "time"

func (s *Sender) sendSync(now time.Time) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.syncLocked(now)
}

func (s *Sender) syncLocked(now time.Time) {
	s.syncDue = time.Time{}
	s.sync[offSyncSequence]++
	for _, l := range s.links {
		l.send(now, []message{{Buffers: [][]byte{s.sync}, Addr: l.to(uint16(s.cfg.SyncAddress))}})
	}
}

// terminate lets the repeats of the last change pass, then terminates. It takes
// seven ticks at most.
func (s *Sender) terminate(timer *time.Timer) {
	for round := 0; round < settleRepeats+terminations; round++ {
		s.batch = s.batch[:0]
		now := time.Now()
		for i, st := range s.streams {
			switch {
			case !st.started:
			case round >= settleRepeats:
				st.terminate(now)
				s.batch = append(s.batch, i)
			case st.repeats > 0:
				st.step(now)
				s.batch = append(s.batch, i)
			}
		}
		if len(s.batch) == 0 {
			continue
		}
		timer.Reset(framePeriod) // also before the first: one has just gone
		<-timer.C
		s.flush(time.Now())
		if !s.syncDue.IsZero() {
			timer.Reset(s.cfg.SyncDelay)
			<-timer.C
			s.sendSync(time.Now())
		}
	}
	if s.cfg.Multicast && s.disc.said {
		s.announce(time.Now(), nil)
	}
}
