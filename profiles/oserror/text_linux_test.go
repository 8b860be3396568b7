package oserror

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"testing"
	"time"
)

// The words in which Go and the system tell of a fault, none of which a person is to read.
var theirs = regexp.MustCompile(`dial |listen tcp|connect:|bind:|lookup |refused|i/o timeout|EOF|context |open /|no such|mkdir|exec:|\$PATH|errno|permission denied|use of closed|json:|unmarshal|invalid character|Go `)

// What a real socket, file or program says is told in plain words, with the place it is about.
func TestRealErrorsAreToldPlainly(t *testing.T) {
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	defer l.Close()
	const dead = "127.0.0.1:1" // no system gives this port away by chance
	file := filepath.Join(t.TempDir(), "file")
	if err := os.WriteFile(file, nil, 0o600); err != nil {
		t.Fatal(err)
	}
	_, refused := net.Dial("tcp", dead)
	_, taken := net.Listen("tcp", l.Addr().String())
	_, nowhere := net.Listen("tcp", "192.0.2.1:7000") // TEST-NET-1, RFC 5737: no machine's own
	c, err := net.Dial("tcp", l.Addr().String())
	if err != nil {
		t.Fatal(err)
	}
	defer c.Close()
	c.SetReadDeadline(time.Unix(1, 0))
	_, silent := c.Read(make([]byte, 1))
	_, missing := os.Open(file + "-not")
	_, inFile := os.Open(filepath.Join(file, "below"))
	_, folder := os.ReadFile(filepath.Dir(file))
	program := exec.Command("no-such-program-of-ours").Start()
	for _, c := range []struct {
		name string
		err  error
		want string
	}{
		{"nobody listens", refused, "nothing answers at " + dead},
		{"the port is taken", taken, "another program on this machine has " + l.Addr().String()},
		{"not our address", nowhere, "this machine has no address 192.0.2.1:7000"},
		{"no answer", silent, "does not answer"},
		{"no file", missing, "there is no " + file + "-not"},
		{"a file as folder", inFile, "is a file, not a folder"},
		{"a folder as file", folder, "is a folder, and a file is wanted"},
		{"no program", program, "there is no program no-such-program-of-ours"},
		{"no JSON", json.Unmarshal([]byte("{g"), new(any)), "it is no JSON"},
		{"JSON cut off", json.Unmarshal([]byte(`{"a":`), new(any)), "it breaks off"},
		{"a text for a number", json.Unmarshal([]byte(`{"seq":"x"}`), &struct {
			Seq uint64 `json:"seq"`
		}{}), `there is a text where a whole number belongs ("seq")`},
		{"a fraction for a whole number", json.Unmarshal([]byte(`{"seq":1.5}`), &struct{ Seq uint64 }{}), "there is a number where a whole number"},
		{"an end", fmt.Errorf("reading it: %w", io.ErrUnexpectedEOF), "reading it: it ended too early"},
		{"late", fmt.Errorf("feed meter: %w", context.DeadlineExceeded), "feed meter: it took too long"},
		{"two at once", errors.Join(refused, fmt.Errorf("the page: %w", taken)), "the page: another program"},
		{"no name", &net.OpError{Op: "dial", Err: &net.DNSError{Name: "meter.example", IsNotFound: true}}, "no machine on the network is called meter.example"},
	} {
		if c.err == nil {
			t.Errorf("%s: no error", c.name)
			continue
		}
		text := Text(c.err)
		if !regexp.MustCompile(regexp.QuoteMeta(c.want)).MatchString(text) || theirs.MatchString(text) {
			t.Errorf("%s: %q becomes %q, want %q in it", c.name, c.err, text, c.want)
		}
		if p := Plain(fmt.Errorf("here: %w", c.err)); p.Error() != "here: "+text || !errors.Is(p, c.err) && c.name != "two at once" {
			t.Errorf("%s: Plain says %q", c.name, p)
		}
	}
}

// What nobody but us said is told as it is, and what was put plainly once is not touched again.
func TestOurWordsStay(t *testing.T) {
	own := fmt.Errorf("rig.yaml:3: %w", errors.New("the word EOF is ours here"))
	if Text(own) != own.Error() || Plain(own) != own {
		t.Errorf("%q became %q", own, Text(own))
	}
	once := Plain(fmt.Errorf("a: %w", io.EOF))
	if twice := Plain(fmt.Errorf("b: %w", once)); twice.Error() != "b: a: it ended too early" {
		t.Errorf("twice: %q", twice)
	}
	if Text(nil) != "" || Plain(nil) != nil {
		t.Error("no error became one")
	}
}
