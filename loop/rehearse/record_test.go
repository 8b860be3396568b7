package rehearse

import (
	"bytes"
	"encoding/json"
	"os"
	"testing"
)

// The journal of a run with lanes, recorded in virtual time, for testdata/journals:
//
//	RECORD_JOURNALS=1 go test ./loop/rehearse -run TestRecord -count 1
func TestRecordAJournalOfLanes(t *testing.T) {
	if os.Getenv("RECORD_JOURNALS") != "1" {
		t.Skip("writes testdata/journals anew; only with RECORD_JOURNALS=1")
	}
	p, err := wall(t, 6, 3).Play()
	if err != nil || p.Err != nil {
		t.Fatal(err, p.Err)
	}
	var out bytes.Buffer
	for i, e := range p.Entries {
		e.Seq = uint64(i + 1)
		line, err := json.Marshal(e)
		if err != nil {
			t.Fatal(err)
		}
		out.Write(append(line, '\n'))
	}
	if err := os.WriteFile("../../testdata/journals/v2/lanes.jsonl", out.Bytes(), 0o644); err != nil {
		t.Fatal(err)
	}
}
