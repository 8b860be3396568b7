// Package history is an index over all runs of a folder, by rig and by unit: how each lamp was found,
// how it ended, and what was learnt of its emitters. The journals are the truth: the index is a file beside them
// that is brought up to date from them, and may be deleted at any time.
//
// The same tables live in a PostgreSQL where several machines share lamps: each sends what its index has and the server has not.
package history
