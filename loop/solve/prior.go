package solve

// Prior is what is known of one head before its first reading, or the posterior
// kept from an earlier match of the same unit. It is plain data for JSON;
// floats survive the round trip exactly (encoding/json writes the shortest form
// that reads back the same). A Prior fits only a Spec of the same Kind and size.
type Prior struct {
	Kind       Kind       `json:"kind"`
	States     int        `json:"states"`
	Hypotheses []PriorHyp `json:"hypotheses"`
	AtSeconds  float64    `json:"at_seconds"` // time of the last reading on its own match's clock
}

// PriorHyp is one Gaussian of the sum.
type PriorHyp struct {
	Weight float64   `json:"weight"`
	Law    int       `json:"law"`  // which response hypothesis
	Wide   bool      `json:"wide"` // from the wide prior: profile badly wrong
	Scale  int       `json:"scale"`
	Mean   []float64 `json:"mean"` // States values
	Cov    []float64 `json:"cov"`  // States x States, row by row
}
