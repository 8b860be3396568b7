package mvr

import (
	"errors"
	"fmt"
	"io"

	"trueup/profiles/archive"
	"trueup/profiles/userfile"
	"trueup/profiles/xmltree"
)

// Bounds on a plan. Meshes make real files hundreds of megabytes; what we read
// of them is small.
const (
	maxScene    = 64 << 20  // bytes of the scene, unpacked
	maxInner    = 32 << 20  // bytes of a GDTF file that is deflated in the plan
	maxUnpacked = 256 << 20 // bytes of all that is unpacked
	maxFixtures = 4000
	maxNotes    = 200
)

var limits = archive.Limits{Kind: "My Virtual Rig archive", Size: 4<<30 - 1, Directory: 8 << 20, Entries: 32768}

const sceneName = "GeneralSceneDescription.xml"

// skipped are elements of a scene that say nothing of a fixture's patch; they
// make most of it.
var skipped = []string{"UserData", "Geometries", "Symdef", "Connections", "Mappings", "Overwrites", "Protocols", "Alignments", "CustomCommands"}

// Open reads a plan from a file.
func Open(path string, o Options) (*Plan, error) {
	return archive.ReadFile(path, userfile.Plan, "plan", func(r io.ReaderAt, size int64) (*Plan, error) { return Read(r, size, o) })
}

// Read reads a plan from an archive of size bytes. Errors: no archive of this
// kind, a scene that can not be read or goes beyond a bound, no fixture in it.
// What is wrong with one fixture or one GDTF file is said there.
func Read(r io.ReaderAt, size int64, o Options) (*Plan, error) {
	budget := archive.NewBudget(maxUnpacked)
	a, err := archive.Open(r, size, limits, budget)
	if err != nil {
		return nil, err
	}
	rc, err := a.Open(sceneName, maxScene)
	if errors.Is(err, archive.ErrMissing) {
		if a.Has("description.xml") {
			return nil, errors.New("this is a GDTF file, one fixture's description; trueup profile draft makes a profile of it")
		}
		return nil, fmt.Errorf("the archive has no %s in its root: it is not a My Virtual Rig file", sceneName)
	}
	if err != nil {
		return nil, err
	}
	defer rc.Close()
	root, err := xmltree.Parse(rc, skipped...)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", sceneName, err)
	}
	s := &scene{options: o, types: map[[2]string]int{}}
	if err := s.read(root); err != nil {
		return nil, fmt.Errorf("%s: %w", sceneName, err)
	}
	if err := s.draftTypes(a, r, budget); err != nil {
		return nil, err
	}
	return &s.plan, nil
}
