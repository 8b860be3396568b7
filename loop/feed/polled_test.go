package feed

import (
	"bufio"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"
)

// wren plays the handheld of the examples on a real serial line: it repeats what
// it hears, and measures when it is told to.
func wren(port *os.File, released chan<- bool, reading func(n int) string) {
	in := bufio.NewReader(port)
	for n := 0; ; {
		line, err := in.ReadString('\r')
		if err != nil {
			return
		}
		fmt.Fprint(port, line) // echo
		switch strings.TrimSpace(line) {
		case "REMOTE 0":
			released <- true
		case "REMOTE 1", "UNIT XYL":
			fmt.Fprint(port, "OK\r")
		case "MEAS":
			n++
			fmt.Fprint(port, reading(n)+"\r")
		default:
			fmt.Fprint(port, "ERR 9\r")
		}
	}
}

// A polled instrument on a serial line is started, asked, unplugged in the
// middle of it, started again, and left in peace at the end. A reading lies
// wholly between request and answer.
func TestPolledSerialSurvivesUnplugging(t *testing.T) {
	socat := peer(t, "socat")
	ins, err := LoadInstrument(filepath.Join(examples, "polled-echo.yaml"))
	if err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	ours, theirs := filepath.Join(dir, "ours"), filepath.Join(dir, "theirs")
	var f *Feed
	for life := 1; life <= 2; life++ {
		kill := begin(t, nil, socat, "pty,raw,echo=0,link="+ours, "pty,raw,echo=0,link="+theirs)
		meter := openWhenThere(t, theirs)
		openWhenThere(t, ours).Close()
		played, released := make(chan struct{}), make(chan bool, 10)
		go func() {
			defer close(played)
			wren(meter, released, func(n int) string {
				if n == 2 {
					return "ERR 4" // too bright, once
				}
				return fmt.Sprintf("M,0.3%d%02d,0.3793,845.2 lx", life, n%100)
			})
		}()
		if f == nil {
			f = openFeed(t, Config{Name: "wren", Kind: "serial", Address: ours, Instrument: ins})
		}
		until(t, f, "started", func(s Status) bool { return s.Links == life })
		settled := time.Now()
		r, err := f.NextAfter(soon(t), "", settled)
		if err != nil {
			t.Fatal(err)
		}
		if !strings.HasPrefix(r.Raw, fmt.Sprintf("M,0.3%d", life)) || r.Began().Before(settled) || r.Y != 845.2 {
			t.Errorf("life %d: %+v", life, r)
		}
		until(t, f, "saturated", func(s Status) bool { return s.SetAside[Overdriven] == uint64(life) })
		if life == 2 {
			f.Close()
			select {
			case <-released:
			case <-soon(t).Done():
				t.Error("the instrument was not given back to its keys")
			}
		}
		meter.Close()
		kill()
		<-played
		if life == 1 {
			until(t, f, "noticed the loss", func(s Status) bool { return s.State == Waiting })
		}
	}
}
