// Package userfile opens every file that a person or a rig names. Such a name may
// be wrong or meant badly: a device that never ends, a pipe that nobody writes
// to, a film of ten gigabytes. So only regular files are opened (what a link
// leads to counts), each kind of file has a size beyond which it is not read,
// and an error says what to do.
//
// It knows no format: what is read goes to the parser of its room, which has
// bounds of its own on what text can make it do. It imports nothing of ours.
// colorcalc stays free of it, as it opens nothing.
package userfile
