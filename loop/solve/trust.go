package solve

// stopped ends a match whose cause was found.
func (m *Match) stopped() (Decision, bool) { return Decision{}, false }

// suspect looks for a fault behind readings that do not fit.
func (m *Match) suspect() {}

// unsettledBy says which of lamp and meter would not hold still.
func (m *Match) unsettledBy() string { return "" }
