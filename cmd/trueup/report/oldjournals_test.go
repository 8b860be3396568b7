package report

import (
	"bytes"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"trueup/loop/session"
	"trueup/safety"
)

// A report and a settings sheet can still be made from the journals that
// earlier versions wrote.
func TestReportsAreMadeFromJournalsOfEarlierVersions(t *testing.T) {
	paths, err := filepath.Glob("../../../testdata/journals/*/*.jsonl")
	if err != nil || len(paths) < 8 {
		t.Fatalf("recorded journals: %v %v", paths, err)
	}
	for _, path := range paths {
		t.Run(filepath.Base(filepath.Dir(path))+"/"+filepath.Base(path), func(t *testing.T) {
			f, err := os.Open(path)
			if err != nil {
				t.Fatal(err)
			}
			defer f.Close()
			s, err := session.ReadSummary(f)
			if err != nil {
				t.Fatal(err)
			}
			var page, csv, js bytes.Buffer
			if err := WritePage(&page, s, Extras{Cautions: safety.Cautions}); err != nil {
				t.Fatal(err)
			}
			rows := Sheet(s)
			if err := WriteSheetCSV(&csv, rows); err != nil {
				t.Fatal(err)
			}
			if err := WriteSheetJSON(&js, s, rows); err != nil {
				t.Fatal(err)
			}
			for _, fx := range s.Fixtures {
				if !strings.Contains(page.String(), fx.Name) {
					t.Errorf("the page does not name %s", fx.Name)
				}
				o := fx.Final()
				if o == nil {
					continue
				}
				if !strings.Contains(page.String(), o.Result.String()) {
					t.Errorf("the page does not say that %s is %s", fx.Name, o.Result)
				}
				if o.Landed() && (!strings.Contains(csv.String(), fx.Name) || !strings.Contains(js.String(), fx.Name)) {
					t.Errorf("%s has landed and is not on the sheet", fx.Name)
				}
			}
		})
	}
}
