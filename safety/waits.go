package safety

// Waits says what an ending waits for that may never come; empty where it goes
// on by itself. The lamps are held meanwhile.
func (d *Door) Waits() string {
	if stage, _ := d.gov.Stage(); stage == Waiting {
		return "the desk is silent: its last look is held until it sends again"
	}
	return ""
}
