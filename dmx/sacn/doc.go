// Package sacn speaks ANSI E1.31-2018 (streaming ACN): data, synchronization and
// universe discovery packets, out and in.
package sacn
