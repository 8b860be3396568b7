package feed

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"

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
		return fmt.Errorf("%s: %w", p.path, err)
	}
	return stream(ctx, quietPort{port}, newLink(f))
}

// explain says which faults will not heal by waiting.
func (p *serialPort) explain(err error) error {
	var pe *serial.PortError
	if errors.As(err, &pe) {
		switch pe.Code() {
		case serial.PermissionDenied:
			return refuse("%s: permission denied; add yourself to the group that owns the port", p.path)
		case serial.InvalidSpeed, serial.InvalidDataBits, serial.InvalidParity, serial.InvalidStopBits:
			return refuse("%s: the port can not do %d baud with this framing: %v", p.path, p.set.Baud, err)
		case serial.InvalidSerialPort:
			if info, e := os.Stat(p.path); e == nil && info.Mode().IsRegular() {
				return refuse("%s is a file, not a serial port (a growing file is kind: file)", p.path)
			}
		}
	}
	return fmt.Errorf("%s: %w", p.path, err)
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
