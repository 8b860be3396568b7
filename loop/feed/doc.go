// Package feed is where readings come from: the ways a meter is reached, the
// descriptions that people write of their meters, and the checks that a reading
// passes before it counts.
//
// The words: a feed is one open source of readings; a probe is one measuring head
// of it; a reading is one measurement, normalised to CIE 1976 chromaticity and,
// where the instrument tells one, a level. What an instrument can not tell is
// never invented.
//
// The way of a reading:
//
//	transport   brings lines or datagrams, and comes back when its link breaks
//	instrument  takes them apart as its description says (a package of its own; nil:
//	            JSON lines of ours)
//	acceptance  sets aside what is repeated, late, impossible, saturated or skewed
//	ring        keeps the newest, from which Next and NextAfter give out
//
// A reading counts for a light only if its integration began at or after the moment that
// was asked for, when the light has settled. With an instrument whose clock agrees with ours that is told by its
// own stamp; else the longest latency is taken off the arrival, so that the
// doubt is always on the late side. Whatever is set aside is counted and has its
// reason; nothing that an instrument sends ends a feed.
//
// A feed is waiting (no link, or nothing read yet), live, stale (silent for a
// while), refused (trying again would not help) or ended (the input is over).
//
// What comes in is not trusted: lines, messages and rates are bounded, patterns
// are RE2, a program is started only with Config.AllowExec, and listeners are
// open to this machine alone unless an address says otherwise.
package feed
