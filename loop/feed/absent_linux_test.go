package feed

import (
	"context"
	"net"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"
)

// A meter that is not there is told in plain words: what is wrong, where, and what to do.
// None of the words of Go or the system reaches a person.
func TestAMeterThatIsNotThereIsToldPlainly(t *testing.T) {
	taken, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	defer taken.Close()
	busy := taken.Addr().String()
	go func() { // a meter that hangs up at once
		for {
			c, err := taken.Accept()
			if err != nil {
				return
			}
			c.Close()
		}
	}()
	const dead = "127.0.0.1:1" // no system gives this port away by chance
	udp, err := net.ListenPacket("udp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	defer udp.Close()
	port := filepath.Join(t.TempDir(), "ttyUSB7")
	for _, c := range []struct{ kind, address, want string }{
		{"tcp", dead, "nothing answers at " + dead},
		{"tcp", busy, "the meter closed the connection"},
		{"tcp-listen", busy, "another program on this machine has " + busy},
		{"http", busy, "another program on this machine has " + busy},
		{"udp", udp.LocalAddr().String(), "another program on this machine has " + udp.LocalAddr().String()},
		{"osc", udp.LocalAddr().String(), "another program on this machine has"},
		{"serial", port, "there is no serial port " + port},
		{"mqtt", "mqtt://" + dead + "/a/colour", "no MQTT broker: nothing answers at " + dead},
		{"mqtt", "mqtt://" + busy + "/a/colour", "does not talk as an MQTT 5 broker"},
		{"file", port, "there is no file " + port},
	} {
		t.Run(c.kind+" "+c.want[:12], func(t *testing.T) {
			ctx, cancel := context.WithTimeout(context.Background(), 20*time.Second)
			defer cancel()
			said := make(chan string, 64)
			f, err := Open(ctx, Config{Name: "meter", Kind: c.kind, Address: c.address, OnEvent: func(e Event) {
				if e.Status != nil {
					select {
					case said <- e.Status.Why:
					default:
					}
				}
			}})
			if err != nil {
				t.Fatal(err)
			}
			defer f.Close()
			theirs := regexp.MustCompile(`dial|connect:|bind:|refused|timeout|EOF|no such file or|failed to|errno`)
			var all []string
			for {
				select {
				case why := <-said:
					if theirs.MatchString(why) {
						t.Errorf("a person reads %q", why)
					}
					if strings.Contains(why, c.want) {
						return
					}
					all = append(all, why)
				case <-ctx.Done():
					t.Fatalf("no word of %q, only %q", c.want, all)
				}
			}
		})
	}
}
