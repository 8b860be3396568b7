package feed

import (
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"strings"
	"syscall"

	"go.bug.st/serial"

	"trueup/loop/feed/instrument"
)

// serialPort talks over a serial line. A port that is unplugged and plugged in
// again is opened again.
type serialPort struct {
	path string
	mode serial.Mode
	set  instrument.SerialSettings
}

func newSerial(c Config) (transport, error) {
	if c.Address == "" {
		return nil, fmt.Errorf("feed %s: the name of the serial port is missing, like /dev/ttyUSB0 or COM3", c.Name)
	}
	s := instrument.SerialSettings{Baud: 9600, DataBits: 8, Parity: 'N', StopBits: 1}
	if c.Instrument != nil {
		s = c.Instrument.Serial
	}
	p := &serialPort{path: c.Address, set: s, mode: serial.Mode{BaudRate: s.Baud, DataBits: s.DataBits}}
	switch s.Parity {
	case 'E':
		p.mode.Parity = serial.EvenParity
	case 'O':
		p.mode.Parity = serial.OddParity
	}
	if s.StopBits == 2 {
		p.mode.StopBits = serial.TwoStopBits
	}
	if s.DTR != nil || s.RTS != nil {
		p.mode.InitialStatusBits = &serial.ModemOutputBits{DTR: s.DTR == nil || *s.DTR, RTS: s.RTS == nil || *s.RTS}
	}
	return p, nil
}

func (p *serialPort) run(ctx context.Context, f *Feed) error {
	port, err := serial.Open(p.path, &p.mode)
	if err != nil {
		return p.explain(err)
	}
	// What lay in the buffer was measured before we asked.
	if err := port.ResetInputBuffer(); err != nil {
		port.Close()
		return p.explain(err)
	}
	err = stream(ctx, quietPort{port}, newLink(f))
	if ctx.Err() == nil && gone(err) {
		return fmt.Errorf("serial port %s brings nothing any more: is the meter still on and plugged in?", p.path)
	}
	return err
}

// explain says which faults will not heal by waiting.
func (p *serialPort) explain(err error) error {
	var pe *serial.PortError
	if errors.As(err, &pe) {
		switch pe.Code() {
		case serial.PermissionDenied:
			return refuse("serial port %s is not open to this user: join the group that owns it, then log in again", p.path)
		case serial.InvalidSpeed, serial.InvalidDataBits, serial.InvalidParity, serial.InvalidStopBits:
			return refuse("serial port %s can not do %d baud with %d data bits, parity %c and %d stop bits: correct serial: in the instrument description", p.path, p.set.Baud, p.set.DataBits, p.set.Parity, p.set.StopBits)
		case serial.InvalidSerialPort:
			if info, e := os.Stat(p.path); e == nil && info.Mode().IsRegular() {
				return refuse("%s is a file, not a serial port (a growing file is kind: file)", p.path)
			}
			return fmt.Errorf("%s is not a serial port: correct the address", p.path)
		case serial.PortNotFound:
			return fmt.Errorf("there is no serial port %s: plug the meter in, or correct the name%s", p.path, portsHere())
		case serial.PortBusy:
			return fmt.Errorf("another program has the serial port %s: end it", p.path)
		}
	}
	if errors.Is(err, fs.ErrNotExist) {
		return fmt.Errorf("there is no serial port %s: plug the meter in, or correct the name%s", p.path, portsHere())
	}
	return fmt.Errorf("serial port %s: %w", p.path, err)
}

// portsHere names the serial ports that this machine has, as the end of a sentence.
func portsHere() string {
	names, err := serial.GetPortsList()
	switch {
	case err != nil:
		return ""
	case len(names) == 0:
		return "; this machine has none now"
	}
	return "; this machine has " + strings.Join(names[:min(8, len(names))], ", ")
}

// gone reports whether a port that was open is not there any more.
func gone(err error) bool {
	var pe *serial.PortError
	return errors.Is(err, io.EOF) || errors.Is(err, errStreamEnded) || errors.Is(err, syscall.EIO) || errors.As(err, &pe) && pe.Code() == serial.PortClosed
}

// quietPort turns a read that brings nothing, which is how some drivers report
// an unplugged port, into an end.
type quietPort struct{ serial.Port }

func (q quietPort) Read(p []byte) (int, error) {
	n, err := q.Port.Read(p)
	if n == 0 && err == nil {
		return 0, io.EOF
	}
	return n, err
}
