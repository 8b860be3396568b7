// Package mvr reads a planned rig from a My Virtual Rig file (DIN SPEC
// 15801:2023-12, versions 1.4 to 1.6): which fixtures hang where, in which mode
// and at which address, and a drafted profile of each of their types.
//
// A plan is what somebody meant to hang, not what hangs there; every fixture
// drafted from it is surveyed like any other. The archive is taken as hostile:
// of all that lies in it only the scene and the GDTF files that fixtures name
// are unpacked, and sizes and depths are bounded for their sum. Nothing that a
// plan says changes a limit of a run.
package mvr
