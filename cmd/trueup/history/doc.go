// Package history is an index over all runs of a folder, by rig and by unit: how each lamp was found,
// how it ended, and what was learnt of its emitters. The journals are the truth: the index is a file beside them
// that is brought up to date from them, and may be deleted at any time.
package history
