package stage

import (
	"bufio"
	"context"
	"encoding/json"
	"net"
	"net/netip"
	"testing"
	"time"

	"github.com/rs/zerolog"
	"go.uber.org/goleak"

	"trueup/dmx"
	"trueup/dmx/sacn"
)

// steady sends one look of universe 1.
type steady []byte

func (s steady) Levels(_ time.Time, _ dmx.Universe, dst *[512]byte) int { return copy(dst[:], s) }

// The stage as other programs meet it: levels by E1.31 over UDP, readings by
// JSON lines over TCP, the truth on request. Everything ends with the context.
func TestStageSpeaksThroughSocketsOnly(t *testing.T) {
	defer goleak.VerifyNone(t)
	s, err := Listen(switching(), ServeConfig{SACN: netip.MustParseAddrPort("127.0.0.1:0"), Meter: "127.0.0.1:0", Truth: "127.0.0.1:0", Log: zerolog.Nop()})
	if err != nil {
		t.Fatal(err)
	}
	ctx, cancel := context.WithTimeout(context.Background(), time.Minute)
	defer cancel()
	ended := make(chan error, 2)
	go func() { ended <- s.Run(ctx) }()

	tx, err := sacn.NewSender(sacn.SenderConfig{CID: sacn.CID{1, 2, 3}, SourceName: "test", Priority: 100,
		Universes: []dmx.Universe{1}, Unicast: []netip.AddrPort{s.SACN()}, Log: zerolog.Nop()})
	if err != nil {
		t.Fatal(err)
	}
	go func() { ended <- tx.Run(ctx, steady{255}) }()

	c, err := net.Dial("tcp", s.Meter())
	if err != nil {
		t.Fatal(err)
	}
	defer c.Close()
	in := bufio.NewScanner(c)
	var l meterLine
	for { // dark at first, then 101 lux (100 of the lamp, 1 of the ambient)
		if !in.Scan() {
			t.Fatal("the meter went away: ", in.Err())
		}
		seq := l.Seq
		if err := json.Unmarshal(in.Bytes(), &l); err != nil {
			t.Fatalf("%s: %v", in.Bytes(), err)
		}
		if l.Seq <= seq || l.Probe != "mark" || l.IntegrationMs != 100 {
			t.Fatalf("line %s after %d", in.Bytes(), seq)
		}
		if l.Lux != nil && *l.Lux > 100.9 {
			break
		}
	}
	if age := time.Since(time.UnixMilli(l.TimeUnixMs)); age < 0 || age > 5*time.Second {
		t.Errorf("the reading is %v old", age)
	}
	all, err := AskTruth(ctx, s.Truth())
	if err != nil || len(all) != 1 || all[0].Fixture != "w" || all[0].Codes[0] != 255 || all[0].Lux < 99.9 || all[0].Lux > 100.1 {
		t.Errorf("truth %+v, %v", all, err)
	}
	cancel()
	for range 2 {
		if err := <-ended; err != nil {
			t.Error(err)
		}
	}
}

// A port in use is said when the stage is set, not found later.
func TestStageSaysThatAPortIsTaken(t *testing.T) {
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	defer l.Close()
	for _, c := range []ServeConfig{{Meter: l.Addr().String()}, {Meter: "127.0.0.1:0", Truth: l.Addr().String()}} {
		c.SACN, c.Log = netip.MustParseAddrPort("127.0.0.1:0"), zerolog.Nop()
		if s, err := Listen(switching(), c); err == nil {
			s.discard()
			t.Errorf("%+v: no error", c)
		}
	}
}
