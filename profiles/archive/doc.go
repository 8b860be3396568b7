// Package archive reads single files out of ZIP archives that may be hostile.
//
// Only the directory and the files that are asked for are read. The directory,
// the number of entries and every unpacked size are bounded; archives in one
// another share a Budget, so the bound holds for the sum. Names are compared
// exactly, and an entry in a folder is never one of the root.
package archive
