package main

import (
	"bufio"
	"bytes"
	"encoding/binary"
	"encoding/json"
	"io"
	"net"
	"regexp"
	"strings"
	"testing"
	"time"

	"trueup/dmx/sacn"
)

// deskPacket is a data packet with two slots, by the tables of E1.31-2018.
func deskPacket(name string, priority, sequence byte, universe uint16) []byte {
	b := make([]byte, 128)
	copy(b, "\x00\x10\x00\x00ASC-E1.17\x00\x00\x00")
	binary.BigEndian.PutUint16(b[16:], 0x7000|112)
	b[21], b[22] = 4, 0xd1
	binary.BigEndian.PutUint16(b[38:], 0x7000|90)
	b[43] = 2
	copy(b[44:107], name)
	b[108], b[111] = priority, sequence
	binary.BigEndian.PutUint16(b[113:], universe)
	binary.BigEndian.PutUint16(b[115:], 0x7000|13)
	b[117], b[118], b[122], b[124] = 2, 0xa1, 1, 3
	return b
}

// A person sees who sends, and a hostile name does not reach the terminal raw.
func TestListenShowsASource(t *testing.T) {
	for _, mode := range []string{"", "--json"} {
		outR, outW := io.Pipe()
		errR, errW := io.Pipe()
		var out bytes.Buffer
		copied := make(chan struct{})
		go func() { io.Copy(&out, outR); close(copied) }()
		code := make(chan int, 1)
		args := []string{"listen", "--at", "127.0.0.1:0", "--unicast", "--for", "1200ms"}
		if mode != "" {
			args = append(args, mode)
		}
		go func() {
			c := run(args, strings.NewReader(""), outW, errW)
			outW.Close()
			errW.Close()
			code <- c
		}()
		line, _ := bufio.NewReader(errR).ReadString('\n')
		go io.Copy(io.Discard, errR)
		addr := regexp.MustCompile(`127\.0\.0\.1:\d+`).FindString(line)
		c, err := net.Dial("udp", addr)
		if err != nil {
			t.Fatal(err, line)
		}
		defer c.Close()
		for i := range byte(3) {
			c.Write(deskPacket("desk\x1b[2J", 133, i, 7))
		}
		c.Write([]byte("nonsense that is longer than a header, and yet no packet of this network at all"))
		select {
		case got := <-code:
			if got != 0 {
				t.Errorf("exit code %d", got)
			}
		case <-time.After(longWait):
			t.Fatal("does not end")
		}
		<-copied
		text := out.String()
		if strings.Contains(text, "\x1b") {
			t.Errorf("an escape sequence from the network reached the terminal:\n%q", text)
		}
		if mode == "" {
			for _, want := range []string{`7 .*"desk\\x1b\[2J" .*127\.0\.0\.1 .*133 .*2 .*live`, `dropped: 1 packets, not an ACN packet`, `source "desk\\x1b\[2J" \(priority 133\) appeared`} {
				if !regexp.MustCompile(want).MatchString(text) {
					t.Errorf("want %s in\n%s", want, text)
				}
			}
			continue
		}
		var last struct {
			Sources []struct {
				Universe, Priority, Slots int
				Name, State               string
			}
		}
		lines := strings.Split(strings.TrimSpace(text), "\n")
		if err := json.Unmarshal([]byte(lines[len(lines)-1]), &last); err != nil {
			t.Fatal(err)
		}
		if len(last.Sources) != 1 || last.Sources[0].Universe != 7 || last.Sources[0].Priority != 133 || last.Sources[0].Name != "desk\x1b[2J" || last.Sources[0].State != "live" {
			t.Errorf("%+v", last)
		}
	}
}

// Two sources that share or overrule each other are called what they are.
func TestListenNamesConflicts(t *testing.T) {
	a := sacn.SourceInfo{CID: sacn.CID{1}, Name: "a", Universe: 1, Top: 100, Live: true}
	b := sacn.SourceInfo{CID: sacn.CID{2}, Name: "b", Universe: 1, Top: 100, Live: true, Sync: 9}
	if s := sourceState(a, []sacn.SourceInfo{a, b}); !strings.Contains(s, `shares with "b"`) {
		t.Error(s)
	}
	b.Top = 110
	if s := sourceState(a, []sacn.SourceInfo{a, b}); !strings.Contains(s, `overruled by "b"`) {
		t.Error(s)
	}
	if s := sourceState(b, []sacn.SourceInfo{a, b}); s != "live, synchronized by 9" {
		t.Error(s)
	}
}
