package session

// identity names the unit's type: that of its profile and mode, and whether a
// parameter that all heads share is left out. Units of one type are learnt from
// together.
func (b *builder) identity() string {
	id := b.f.Profile.Identity(b.m)
	if len(b.shared) > 0 {
		id += "-head"
	}
	return id
}

// DeadTimeKey says for which units a dead time holds: those of one type, read by
// one feed, since wire, fade, fixture and meter all are in it.
type DeadTimeKey struct{ Type, Feed string }

// deadTimeKey keys by probe where the meters do not say which feed serves it.
func (s *Session) deadTimeKey(u *Unit) DeadTimeKey {
	if m, ok := s.meters.(interface{ FeedOf(probe string) string }); ok {
		return DeadTimeKey{u.Type, m.FeedOf(u.Info.Probe)}
	}
	return DeadTimeKey{u.Type, u.Info.Probe}
}

// FeedOf names the feed that serves a probe; empty for none.
func (m *FeedMeters) FeedOf(probe string) string {
	f, err := m.feedOf(probe)
	if err != nil {
		return ""
	}
	return f.Status().Name
}
