package history

import (
	"fmt"
	"math"

	"trueup/profiles/printable"
)

// Words says the trend in a sentence.
func (t *Trend) Words() string {
	head := fmt.Sprintf("%s of %s, %s since %s: ", printable.Text(t.Emitter), printable.Text(t.Lamp), printable.Count(t.Runs, "run"), t.From.Format("2 January 2006"))
	sd := 100 * t.ShareSD
	var light string
	switch {
	case !t.Clear():
		light = fmt.Sprintf("no change of its light beside the others that can be told (%+.1f %% ± %.1f)", 100*t.Share, sd)
	case t.Share < 0:
		light = fmt.Sprintf("has lost %.1f %% (± %.1f) beside the fixture's other emitters", -100*t.Share, sd)
	default:
		light = fmt.Sprintf("has gained %.1f %% (± %.1f) beside the fixture's other emitters", 100*t.Share, sd)
	}
	if t.Moved > 2*math.Sqrt2*t.MovedSD {
		light += fmt.Sprintf("; its colour went %.4f (± %.4f)", t.Moved, t.MovedSD)
	}
	return head + light
}
