package sacn

import (
	"bytes"
	"encoding/hex"
	"fmt"
	"strings"
	"testing"

	"trueup/dmx"
)

// handPacket is a data packet with three slots, written down from the tables of
// E1.31-2018 (4.1 and clauses 5 to 7), not by our encoder.
func handPacket(t testing.TB) []byte {
	t.Helper()
	text := "0010 0000 4153432d45312e3137000000" + // preamble, post-amble, identifier
		"7071 00000004 000102030405060708090a0b0c0d0e0f" + // root: 113 bytes from 16
		"705b 00000002 " + hex.EncodeToString([]byte("Käse")) + strings.Repeat("00", 59) + // framing: 91 from 38; 5 bytes of name
		"96 0000 2a 00 f9ff" + // priority 150, no sync, sequence 42, options, universe 63999
		"700e 02 a1 0000 0001 0004" + // DMP: 14 from 115
		"00 ff807f"
	b, err := hex.DecodeString(strings.ReplaceAll(text, " ", ""))
	if err != nil || len(b) != 129 {
		t.Fatal(len(b), err)
	}
	return b
}

func TestThePacketWeSendIsTheOneOfTheStandard(t *testing.T) {
	var p dataPacket
	p.init(CID{0, 1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12, 13, 14, 15}, "Käse", 150, 0, 63999)
	p.setSlots(3)
	copy(p.levels()[:], []byte{255, 128, 127})
	p.buf[offSequence] = 42
	if want := handPacket(t); !bytes.Equal(p.bytes(), want) {
		t.Errorf("got\n%x\nwant\n%x", p.bytes(), want)
	}
	p.setSlots(512)
	for off, want := range map[int]string{16: "726e", 38: "7258", 115: "720b", 123: "0201"} { // the known words of a full universe
		if got := hex.EncodeToString(p.bytes()[off : off+2]); got != want {
			t.Errorf("bytes at %d: %s, want %s", off, got, want)
		}
	}
}

func TestAGoodPacketIsReadFieldByField(t *testing.T) {
	b := handPacket(t)
	if k, r := gate(b); k != kindData || r != Accepted {
		t.Fatal(k, r)
	}
	v, ok := decodeData(b)
	if !ok || v.name != "Käse" || v.priority != 150 || v.sequence != 42 || v.universe != 63999 || v.sync != 0 ||
		v.start != 0 || v.preview || v.terminated || !bytes.Equal(v.slots, []byte{255, 128, 127}) || v.cid[15] != 15 {
		t.Errorf("read %+v", v)
	}
	b[112] = 0xc0
	if v, _ := decodeData(b); !v.preview || !v.terminated {
		t.Error("options are lost")
	}
}

func TestTheLibraryDoesNotWriteBeyondAPacket(t *testing.T) {
	memory := bytes.Repeat([]byte{0x5a}, 1000)
	n := copy(memory, handPacket(t))
	decodeData(memory[:n])
	for i, b := range memory[n:] {
		if b != 0x5a {
			t.Fatalf("byte %d behind the packet was overwritten", i)
		}
	}
}

func TestEveryBrokenFieldIsRefused(t *testing.T) {
	set := func(off int, v ...byte) func([]byte) []byte {
		return func(b []byte) []byte { copy(b[off:], v); return b }
	}
	for name, c := range map[string]struct {
		change func([]byte) []byte
		want   Reason
	}{
		"preamble size":        {set(1, 0x11), BadPreamble},
		"post-amble size":      {set(3, 1), BadPreamble},
		"identifier":           {set(4, 'a'), BadPreamble},
		"root flags":           {set(16, 0x60), BadLength},
		"root length +1":       {set(17, 0x72), BadLength},
		"root vector":          {set(21, 5), BadVector},
		"root vector high":     {set(18, 1), BadVector},
		"framing flags":        {set(38, 0x00), BadLength},
		"framing length -1":    {set(39, 0x5a), BadLength},
		"framing vector":       {set(43, 1), BadVector},
		"priority 201":         {set(108, 201), BadPriority},
		"sync 64000":           {set(109, 0xfa, 0x00), BadUniverse},
		"universe 0":           {set(113, 0, 0), BadUniverse},
		"universe 64000":       {set(113, 0xfa, 0x00), BadUniverse},
		"universe 64214":       {set(113, 0xfa, 0xd6), BadUniverse},
		"DMP length":           {set(116, 0x0f), BadLength},
		"DMP vector":           {set(117, 1), BadVector},
		"DMP type":             {set(118, 0xa2), BadDMP},
		"first address":        {set(120, 1), BadDMP},
		"increment":            {set(122, 2), BadDMP},
		"count 0":              {set(123, 0, 0), BadCount},
		"count one less":       {set(123, 0, 3), BadCount},
		"count one more":       {set(123, 0, 5), BadCount},
		"count 514":            {set(123, 2, 2), BadCount},
		"count 65535":          {set(123, 0xff, 0xff), BadCount},
		"a byte short":         {func(b []byte) []byte { return b[:len(b)-1] }, BadLength},
		"a byte over":          {func(b []byte) []byte { return append(b, 0) }, BadLength},
		"header only":          {func(b []byte) []byte { return b[:38] }, BadLength},
		"empty":                {func(b []byte) []byte { return nil }, BadLength},
		"0xDD priority 201":    {set(125, 0xdd, 201), BadPriority},
		"too long, truthfully": {func([]byte) []byte { return longPacket() }, BadLength},
	} {
		if _, r := gate(c.change(handPacket(t))); r != c.want {
			t.Errorf("%s: %v, want %v", name, r, c.want)
		}
	}
}

// longPacket has 513 slots and lengths that say so.
func longPacket() []byte {
	b := make([]byte, 126+513)
	putRoot(b, vectorData, CID{1})
	be.PutUint16(b[38:], flagsLength(len(b)-38))
	be.PutUint32(b[40:], vectorFrame)
	be.PutUint16(b[113:], 1)
	be.PutUint16(b[115:], flagsLength(len(b)-115))
	b[117], b[118], b[122] = 2, 0xa1, 1
	be.PutUint16(b[123:], 514)
	return b
}

func TestSynchronizationAndDiscoveryAreTheOnesOfTheStandard(t *testing.T) {
	s := syncPacket(CID{0xaa}, 7)
	want := "00100000" + "4153432d45312e3137000000" + "7021" + "00000008" + "aa" + strings.Repeat("00", 15) + "700b" + "00000001" + "00" + "0007" + "0000"
	if hex.EncodeToString(s) != want {
		t.Errorf("sync\n%x\n%s", s, want)
	}
	if k, r := gate(s); k != kindSync || r != Accepted {
		t.Error(k, r)
	}
	s[46] = 0 // address 0
	if _, r := gate(s); r != BadUniverse {
		t.Error(r)
	}
	d := discoveryPackets(CID{0xaa}, "left", []dmx.Universe{1, 258})
	want = "00100000" + "4153432d45312e3137000000" + "706c" + "00000008" + "aa" + strings.Repeat("00", 15) +
		"7056" + "00000002" + hex.EncodeToString([]byte("left")) + strings.Repeat("00", 60) + "00000000" + "700c" + "00000001" + "00" + "00" + "0001" + "0102"
	if len(d) != 1 || hex.EncodeToString(d[0]) != want {
		t.Errorf("discovery\n%x\n%s", d[0], want)
	}
	for name, change := range map[string]func([]byte){
		"page beyond last":   func(b []byte) { b[118] = 1 },
		"descending":         func(b []byte) { b[120] = 2 },
		"twice the same":     func(b []byte) { copy(b[120:], b[122:]) },
		"a universe of zero": func(b []byte) { b[121] = 0 },
		"vector":             func(b []byte) { b[117] = 2 },
		"length":             func(b []byte) { b[113]++ },
	} {
		b := bytes.Clone(d[0])
		change(b)
		if _, r := gate(b); r == Accepted {
			t.Errorf("%s: accepted", name)
		}
	}
}

func TestALongListGoesOnSeveralPages(t *testing.T) {
	var list []dmx.Universe
	for u := range 1025 {
		list = append(list, dmx.Universe(u+1))
	}
	pages := discoveryPackets(CID{1}, "x", list)
	if len(pages) != 3 || len(pages[0]) != 1144 || len(pages[2]) != 122 || pages[2][118] != 2 || pages[0][119] != 2 {
		t.Fatalf("%d pages", len(pages))
	}
	if empty := discoveryPackets(CID{1}, "x", nil); len(empty) != 1 || len(empty[0]) != 120 {
		t.Error("the empty list is not one empty page")
	}
}

func TestASourceNameIsCutAtACharactersEdge(t *testing.T) {
	name := strings.Repeat("ä", 40) // 80 bytes
	if got := cutName(name); got != strings.Repeat("ä", 31) {
		t.Errorf("%d bytes: %q", len(got), got)
	}
	if got := cutName("a\x00b\xff"); got != "ab\uFFFD" {
		t.Errorf("%q", got)
	}
	var p dataPacket
	p.init(CID{1}, name, 1, 0, 1)
	if p.buf[offName+63] != 0 {
		t.Error("no NUL at the end of the name")
	}
}

// What the gate accepts, the library's getters read as our own offsets say:
// a second opinion on every field. Nothing panics.
func FuzzGate(f *testing.F) {
	f.Add(handPacket(f)) // a good packet
	full := dataPacket{}
	full.init(CID{1}, "full", 200, 3, 1)
	f.Add(bytes.Clone(full.bytes())) // the longest
	full.setSlots(1)
	full.buf[offStartCode] = startPerAddress
	f.Add(bytes.Clone(full.bytes()))                                 // per-address priorities
	f.Add(syncPacket(CID{1}, 9))                                     // synchronization
	f.Add(discoveryPackets(CID{1}, "d", []dmx.Universe{1, 2, 3})[0]) // discovery
	f.Add(longPacket())                                              // one slot too many, truthfully
	f.Add(append(handPacket(f), 0))                                  // trailing byte
	lying := handPacket(f)
	be.PutUint16(lying[offCount:], 0xffff)
	f.Add(lying) // the count that crashes the library
	f.Fuzz(func(t *testing.T, b []byte) {
		kept := bytes.Clone(b)
		k, r := gate(b)
		if r != Accepted || k != kindData {
			return
		}
		v, ok := decodeData(b)
		if !ok {
			t.Fatal("the library refuses what the gate accepts")
		}
		own := decodedData{cid: CID(b[22:38]), name: string(bytes.SplitN(b[44:108], []byte{0}, 2)[0]), priority: b[108],
			sync: dmx.Universe(int(b[109])<<8 | int(b[110])), sequence: b[111], preview: b[112]&0x80 != 0, terminated: b[112]&0x40 != 0,
			universe: dmx.Universe(int(b[113])<<8 | int(b[114])), start: b[125], slots: b[126:]}
		if fmt.Sprint(v) != fmt.Sprint(own) {
			t.Errorf("the library reads\n%+v\nwe read\n%+v", v, own)
		}
		if len(v.slots) > 512 {
			t.Errorf("%d slots", len(v.slots))
		}
		if !bytes.Equal(b, kept) {
			t.Error("the packet was changed")
		}
	})
}
