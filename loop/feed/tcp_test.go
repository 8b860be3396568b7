package feed

import (
	"fmt"
	"net"
	"strings"
	"testing"
	"time"
)

// A meter behind TCP may die and come back in the middle of a run; the feed
// goes on by itself.
func TestTCPServerDiesAndReturns(t *testing.T) {
	ln, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	addr := ln.Addr().String()
	f, err := Open(t.Context(), Config{Name: "stage", Kind: "tcp", Address: addr})
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	for life := 1; life <= 3; life++ {
		conn, err := ln.Accept()
		if err != nil {
			t.Fatal(err)
		}
		fmt.Fprintf(conn, "%s\n", ownText(life, time.Now(), 0.31+float64(life)/1000))
		r, err := f.Next(soon(t))
		if err != nil || r.Seq != uint64(life) {
			t.Fatalf("life %d: got %+v, %v", life, r, err)
		}
		// It dies in the middle of a line.
		fmt.Fprint(conn, `{"probe":"mark","seq":9`)
		conn.Close()
		ln.Close()
		if ln, err = net.Listen("tcp", addr); err != nil {
			t.Fatal(err)
		}
	}
	ln.Close()
}

// Lines of any length and end are split the same way however the bytes are
// chopped up, and an endless line costs bounded memory.
func TestLinesAreSplitAndBounded(t *testing.T) {
	for _, c := range []struct {
		end  lineEnd
		text string
		want []string
		long int
	}{
		{"", "a\rb\nc\r\nd", []string{"a", "b", "c", "", "d"}, 0},
		{"\r\n", "a\rb\r\nc\nd\r\n", []string{"a\rb", "c\nd"}, 0},
		{";", "1;2;;3", []string{"1", "2", "", "3"}, 0},
		{"\n", strings.Repeat("x", 30_000) + "\nok\n", []string{"ok"}, 1},
		{"\n", "ok\n" + strings.Repeat("x", 101) + "\nok2\n", []string{"ok", "ok2"}, 1},
		{"##", strings.Repeat("y", 5000) + "##z##", []string{"z"}, 1},
	} {
		for _, chop := range []int{1, 3, 4096} {
			var got []string
			long := 0
			lines(&chopped{strings.NewReader(c.text), chop}, c.end, 100, func(b []byte) error { got = append(got, string(b)); return nil }, func() { long++ })
			if strings.Join(got, "|") != strings.Join(c.want, "|") || long != c.long {
				t.Errorf("%.20q by %d: got %q and %d too long, want %q and %d", c.text, chop, got, long, c.want, c.long)
			}
		}
	}
}

type chopped struct {
	r *strings.Reader
	n int
}

func (c *chopped) Read(p []byte) (int, error) { return c.r.Read(p[:min(c.n, len(p))]) }
