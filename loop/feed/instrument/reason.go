package instrument

// Reason says why a message did not become a reading that counts.
type Reason string

// The reasons for which a message is set aside. Each is counted and can be
// shown; none stops the feed.
const (
	Unreadable   Reason = "not a reading"
	TooLong      Reason = "line too long"
	TooFast      Reason = "more messages than the rate allows"
	NotFinite    Reason = "not a finite number"
	OffDiagram   Reason = "not a possible colour"
	NoWhite      Reason = "a colour and not a white: colour temperature and Duv can not tell it"
	Dark         Reason = "too dark to have a colour"
	Overdriven   Reason = "detector saturated"
	TooLow       Reason = "below the instrument's range"
	Repeated     Reason = "sent twice"
	OutOfOrder   Reason = "out of order"
	ClockSkewed  Reason = "time stamp far off"
	Fault        Reason = "instrument reports a fault"
	BadChecksum  Reason = "checksum does not match"
	UnknownProbe Reason = "probe not in the rig"
	BeforeSettle Reason = "integration began before the light had settled"
)

// Aside is a message that was set aside.
type Aside struct {
	Reason Reason
	Words  string // what exactly, for a person
	Raw    string
}
