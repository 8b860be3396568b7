package safety

// Waits says what an ending waits for that may never come; empty where it goes
// on by itself. The lamps are held meanwhile.
func (d *Door) Waits() string {
	if stage, _ := d.gov.Stage(); stage == Waiting {
		return "the desk is silent: its last look is held until it sends again"
	}
	if d.sender != nil && d.sender.Down() {
		return "no packet leaves this machine: the lamps are handed back as soon as the network is there again"
	}
	return ""
}
