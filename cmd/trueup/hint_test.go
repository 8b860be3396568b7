package main

import (
	"bytes"
	"net"
	"strings"
	"testing"
)

// A port that another program has is said with what to do, not in the words of the system alone.
func TestATakenPortIsSaidWithARemedy(t *testing.T) {
	l, err := net.Listen("tcp4", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	defer l.Close()
	var out bytes.Buffer
	code := run([]string{"stage", moduleRoot(t) + "/examples/beside-a-desk/rig.yaml", "--meter", l.Addr().String(), "--sacn", "127.0.0.1:0"}, nil, &out, &out)
	if code != exitNotAll || !strings.Contains(out.String(), "another program on this machine has "+l.Addr().String()+" already: end it, or take another port") {
		t.Errorf("exit code %d: %s", code, &out)
	}
}
