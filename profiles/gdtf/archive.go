package gdtf

import (
	"errors"
	"fmt"
	"io"

	"trueup/profiles/archive"
	"trueup/profiles/userfile"
	"trueup/profiles/xmltree"
)

// Bounds on an archive. Pictures and models make real files large; what we read
// of them is small.
const (
	maxEntries     = 8192
	maxDescription = 8 << 20 // bytes of description.xml, unpacked
)

var limits = archive.Limits{Kind: "GDTF archive", Size: 256 << 20, Directory: 2 << 20, Entries: maxEntries}

const descriptionName = "description.xml"

// Open reads the fixture type out of a GDTF file.
func Open(path string) (*FixtureType, error) {
	return archive.ReadFile(path, userfile.GDTF, "GDTF file", Read)
}

// Read reads the fixture type out of a GDTF archive of size bytes.
func Read(r io.ReaderAt, size int64) (*FixtureType, error) {
	d, err := ReadDescription(r, size, archive.NewBudget(maxDescription))
	if err != nil {
		return nil, err
	}
	return d.FixtureType()
}

// ReadDescription unpacks description.xml and nothing else; what it takes is
// taken off the budget.
func ReadDescription(r io.ReaderAt, size int64, b *archive.Budget) (*Description, error) {
	a, err := archive.Open(r, size, limits, b)
	if err != nil {
		return nil, err
	}
	rc, err := a.Open(descriptionName, maxDescription)
	if errors.Is(err, archive.ErrMissing) {
		return nil, fmt.Errorf("the archive has no %s in its root: it is not a GDTF file", descriptionName)
	}
	if err != nil {
		return nil, err
	}
	defer rc.Close()
	root, err := xmltree.Parse(rc)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", descriptionName, err)
	}
	return &Description{root: root}, nil
}
