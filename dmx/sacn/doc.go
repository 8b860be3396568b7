// Package sacn speaks ANSI E1.31-2018 (streaming ACN): data, synchronization
// and universe discovery packets, out and in.
//
// Out goes a [Sender]: one paced goroutine that pulls the levels of every
// universe from a [Frames]. In comes a [Receiver]: a strict gate, a table of
// sources, and the merged look of each universe. A [Base] is a Receiver that
// leaves out our own streams: it is what the desk shows, and what an overlay
// is laid over. A [Contention] is a Receiver for a run that means to have its
// universes to itself: it tells who is there besides.
//
// Spoken: data with START code 0x00 and 0xDD (per-address priority, read only),
// synchronization (sent on request; as a reader we act on data at once and say
// that a source synchronizes), discovery (both ways). Not spoken: other START
// codes, which are counted and dropped. E1.31 has no authentication: a forged
// packet of good form cannot be told from a real one. Keep the lighting network
// apart.
//
// Arbitration, as E1.31 6.2.3.4 asks to be documented: in every slot the highest
// priority wins; equal priorities merge by highest level. At most
// [MaxSources] sources are kept for a universe; a later one is refused until
// one of them has gone.
package sacn
