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
