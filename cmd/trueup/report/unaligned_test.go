package report

import (
	"bytes"
	"strings"
	"testing"

	"trueup/loop/session"
	"trueup/loop/session/core"
)

// A report says that its claims are those of probes that were never brought into agreement.
func TestTheReportSaysThatProbesWereNeverAligned(t *testing.T) {
	const words = "probes were never brought into agreement"
	for _, said := range []string{"", words} {
		var page bytes.Buffer
		s := &session.Summary{Info: core.RunInfo{Rig: "r", Work: "match", Unaligned: said}}
		if err := WritePage(&page, s, Extras{}); err != nil || strings.Contains(page.String(), words) != (said != "") {
			t.Errorf("%v: the run says %q, the page does not", err, said)
		}
	}
}
