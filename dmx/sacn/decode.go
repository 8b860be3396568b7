package sacn

import (
	gosacn "github.com/Hundemeier/go-sacn/sacn"

	"trueup/dmx"
)

// decodedData is a data packet behind the gate, in our own words. slots points
// into the packet it was read from, or a copy; it is not kept.
type decodedData struct {
	cid        CID
	name       string
	priority   uint8
	sync       dmx.Universe
	sequence   uint8
	preview    bool
	terminated bool
	universe   dmx.Universe
	start      uint8
	slots      []byte
}

// decodeData reads a data packet that gate has accepted, and only such: the
// library does not check lengths, counts or vectors itself. The full slice
// expression keeps it from writing beyond the packet.
func decodeData(b []byte) (decodedData, bool) {
	p, err := gosacn.NewDataPacketRaw(b[:len(b):len(b)])
	if err != nil {
		return decodedData{}, false
	}
	return decodedData{
		cid:        p.CID(),
		name:       p.SourceName(),
		priority:   p.Priority(),
		sync:       dmx.Universe(p.SyncAddress()),
		sequence:   p.Sequence(),
		preview:    p.PreviewData(),
		terminated: p.StreamTerminated(),
		universe:   dmx.Universe(p.Universe()),
		start:      p.DmxStartCode(),
		slots:      p.Data(),
	}, true
}
