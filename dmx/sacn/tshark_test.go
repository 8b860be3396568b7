package sacn

import (
	"context"
	"encoding/hex"
	"fmt"
	"net/netip"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"trueup/dmx"
)

var loopbackAll = netip.MustParseAddrPort("0.0.0.0:5568")

// walk changes one slot for a while, then stands still.
type walk struct{ until int }

func (w *walk) Levels(now time.Time, u dmx.Universe, dst *[512]byte) int {
	if w.until > 0 {
		w.until--
		dst[0]++
		dst[511] = byte(u)
	}
	return map[dmx.Universe]int{1: 512, 2: 41, 63999: 512}[u]
}

// An independent dissector, on a captured run, reads every packet as we meant
// it: addresses, layout, lengths, names, sequence, priority, slots, goodbyes,
// by IPv4 and by IPv6. It captures synchronization and discovery too, whose bytes
// must be those that left; their layout it does not know. The times on the wire are
// those of the standard.
func TestTheWireAsADissectorSeesIt(t *testing.T) {
	need(t, "tshark", "dumpcap")
	if !ownNetwork(t) {
		return
	}
	file := filepath.Join(t.TempDir(), "run.pcap")
	lines, capture := begin(t, "Capturing on", "dumpcap", "-i", "net0", "-P", "-w", file, "-f", "udp port 5568")
	go func() {
		for range lines { // keep it from blocking
		}
	}()
	time.Sleep(300 * time.Millisecond) // dumpcap says so before its socket is open

	s, err := NewSender(SenderConfig{CID: testCID(t), SourceName: "Bühne links", Priority: 133, SyncAddress: 7, SyncDelay: 2 * time.Millisecond,
		Universes: []dmx.Universe{1, 2, 63999}, Multicast: true, Interfaces: []string{"net0"}, IP: IPv4AndIPv6})
	if err != nil {
		t.Fatal(err)
	}
	rec4, rec6 := tap(s, 0), tap(s, 1)
	ctx, cancel := context.WithTimeout(t.Context(), 4*time.Second)
	defer cancel()
	if err := s.Run(ctx, &walk{until: 360}); err != nil {
		t.Fatal(err)
	}
	for _, l := range s.Links() {
		if !l.Up {
			t.Fatalf("%+v", l)
		}
	}
	time.Sleep(300 * time.Millisecond)
	capture.Process.Signal(interrupt)
	capture.Wait()

	mustBeLegal(t, rec4.packets())
	for v6, rec := range map[bool]*recorder{false: rec4, true: rec6} {
		want := rec.packets()
		var fields []string
		family := "ip"
		if v6 {
			family = "ipv6"
		}
		names := []string{"frame.time_epoch", family + ".dst", "udp.dstport", family + map[bool]string{false: ".ttl", true: ".hlim"}[v6], "udp.payload", "acn.cid",
			"acn.dmx.source_name", "acn.dmx.priority", "acn.dmx.seq_number", "acn.dmx.options", "acn.dmx.reserved", "acn.dmx.universe", "acn.dmx.first_property_address", "acn.dmx.increment", "acn.dmp_vector",
			"acn.dmx.start_code2", "acn.dmx.count", "acn.pdu.length", "_ws.expert.message", "_ws.malformed"}
		args := []string{"-n", "-r", file, "--enable-heuristic", "acn", "-o", "acn.dmx_enable:TRUE", "-Y", family + " && udp.dstport == 5568", "-T", "fields", "-E", "separator=|", "-E", "occurrence=a", "-E", "aggregator=,"}
		for _, n := range names {
			args = append(args, "-e", n)
		}
		raw, err := exec.Command("tshark", args...).Output()
		if err != nil {
			t.Fatal(err, string(raw))
		}
		rows := strings.Split(strings.TrimRight(string(raw), "\n"), "\n")
		if len(rows) != len(want) {
			t.Fatalf("IPv6 %v: captured %d packets, %d left", v6, len(rows), len(want))
		}
		times := map[string]time.Duration{}
		kinds := map[kind]int{}
		for i, row := range rows {
			fields = strings.Split(row, "|")
			p := want[i]
			k, _ := gate(p.b)
			kinds[k]++
			f := map[string]string{}
			for j, n := range names {
				f[n] = fields[j]
			}
			expect := map[string]string{family + ".dst": p.to.Addr().String(), "udp.dstport": "5568", family + map[bool]string{false: ".ttl", true: ".hlim"}[v6]: "16",
				"udp.payload": hex.EncodeToString(p.b), "_ws.malformed": "", "_ws.expert.message": ""}
			if k == kindData {
				n := len(p.b)
				expect["acn.dmx.source_name"] = "Bühne links"
				expect["acn.dmx.priority"] = "133"
				expect["acn.dmx.seq_number"] = strconv.Itoa(int(p.b[111]))
				expect["acn.dmx.options"] = map[bool]string{false: "0", true: "64"}[p.terminated()]
				expect["acn.dmx.reserved"] = "7" // an older name for the synchronization address
				expect["acn.cid"] = CID(p.b[22:38]).String()
				expect["acn.dmx.first_property_address"] = "0"
				expect["acn.dmx.increment"] = "1"
				expect["acn.dmp_vector"] = "2"
				expect["acn.dmx.count"] = strconv.Itoa(n - 125)
				expect["acn.dmx.universe"] = strconv.Itoa(int(p.universe()))
				expect["acn.dmx.start_code2"] = "0"
				expect["acn.pdu.length"] = fmt.Sprintf("%d,%d,%d", n-16, n-38, n-115)
			}
			for name, v := range expect {
				got := f[name]
				if name == family+".dst" && v6 {
					got = netip.MustParseAddr(got).String()
				}
				if name == "_ws.expert.message" && strings.HasPrefix(got, "Possible traceroute") {
					got = "" // a guess from the port that the system happened to give us
				}
				if got != v {
					t.Fatalf("packet %d (%v): the dissector reads %s = %q, we meant %q\n%s", i, k, name, got, v, row)
				}
			}
			if k != kindData {
				continue
			}
			at := epoch(t, f["frame.time_epoch"])
			u := f["acn.dmx.universe"]
			if before, ok := times[u]; ok && at-before > time.Second {
				t.Errorf("universe %s: silent for %v", u, at-before)
			}
			times[u] = at
		}
		if kinds[kindData] < 300 || kinds[kindSync] < 90 || kinds[kindDiscovery] < 2 {
			t.Errorf("IPv6 %v: %v packets of each kind: too few to show anything", v6, kinds)
		}
	}
}

func epoch(t *testing.T, text string) time.Duration {
	sec, frac, _ := strings.Cut(text, ".")
	a, err := strconv.ParseInt(sec, 10, 64)
	if err != nil {
		t.Fatal(err)
	}
	b, err := strconv.ParseInt((frac + "000000000")[:9], 10, 64)
	if err != nil {
		t.Fatal(err)
	}
	return time.Duration(a)*time.Second + time.Duration(b)
}
