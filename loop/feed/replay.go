package feed

import (
	"bufio"
	"bytes"
	"context"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net"
	"time"
	"unicode/utf8"

	"trueup/loop/feed/instrument"
	"trueup/profiles/oserror"
	"trueup/profiles/userfile"
)

// A recording is a text file with one piece of the dialogue a line:
//
//	{"ms":0,"to":"MEAS?\r"}
//	{"ms":212.5,"from":"0.3127,0.3290,123.4"}
//	{"ms":430,"from_hex":"2f78...","topic":"/meter/1"}
//
// ms counts from the start of the recording. "from" is what the instrument
// sent (a line without its end, or a datagram), "to" what it was sent.
type recordLine struct {
	Ms      float64 `json:"ms"`
	From    *string `json:"from,omitempty"`
	FromHex string  `json:"from_hex,omitempty"`
	To      *string `json:"to,omitempty"`
	ToHex   string  `json:"to_hex,omitempty"`
	Topic   string  `json:"topic,omitempty"`
	Note    string  `json:"note,omitempty"`
}

// Recorder writes a meter's dialogue. Its Tap goes into a Config.
type Recorder struct {
	w     io.Writer
	start time.Time
	err   error
}

// NewRecorder writes to w; times count from start.
func NewRecorder(w io.Writer, start time.Time) *Recorder { return &Recorder{w: w, start: start} }

// Tap writes one piece.
func (r *Recorder) Tap(t Traffic) {
	l := recordLine{Ms: float64(t.At.Sub(r.start).Microseconds()) / 1000, Topic: t.Topic}
	s := string(t.Data)
	switch text := utf8.Valid(t.Data); {
	case text && t.Sent:
		l.To = &s
	case text:
		l.From = &s
	case t.Sent:
		l.ToHex = hex.EncodeToString(t.Data)
	default:
		l.FromHex = hex.EncodeToString(t.Data)
	}
	b, err := json.Marshal(l)
	if err == nil {
		_, err = r.w.Write(append(b, '\n'))
	}
	if r.err == nil {
		r.err = err
	}
}

// Err is the first fault of writing.
func (r *Recorder) Err() error { return r.err }

// Bounds of a recording.
const (
	mostRecordLine = 1 << 20
	mostRecord     = 40_000
)

// ReadRecording reads a recording; times count from base.
func ReadRecording(name string, r io.Reader, base time.Time) ([]Traffic, error) {
	var out []Traffic
	s := bufio.NewScanner(r)
	s.Buffer(nil, mostRecordLine)
	n := 0
	for s.Scan() {
		n++
		line := bytes.TrimSpace(s.Bytes())
		if len(line) == 0 {
			continue
		}
		var l recordLine
		d := json.NewDecoder(bytes.NewReader(line))
		d.DisallowUnknownFields()
		if err := d.Decode(&l); err != nil {
			return nil, fmt.Errorf("%s:%d:%d: not a line of a recording: %w; a recording is what 'trueup feed record' writes", name, n, oserror.JSONColumn(err), err)
		}
		t := Traffic{Topic: l.Topic}
		var err error
		switch {
		case l.From != nil:
			t.Data = []byte(*l.From)
		case l.To != nil:
			t.Data, t.Sent = []byte(*l.To), true
		case l.FromHex != "":
			t.Data, err = hex.DecodeString(l.FromHex)
		case l.ToHex != "":
			t.Sent = true
			t.Data, err = hex.DecodeString(l.ToHex)
		case l.Note != "":
			continue
		default:
			err = errors.New("neither from nor to")
		}
		if err != nil {
			return nil, fmt.Errorf("%s:%d: %w", name, n, err)
		}
		if !(l.Ms >= 0 && l.Ms < 1e9) {
			return nil, fmt.Errorf("%s:%d: ms %v is not between 0 and 1e9", name, n, l.Ms)
		}
		t.At = base.Add(time.Duration(l.Ms * float64(time.Millisecond)))
		out = append(out, t)
		if len(out) > mostRecord {
			return nil, fmt.Errorf("%s: more than %d lines", name, mostRecord)
		}
	}
	if err := s.Err(); err != nil {
		return nil, fmt.Errorf("%s:%d: %w", name, n+1, err)
	}
	return out, nil
}

// replay plays a recording at its own pace, as if the meter stood there: an
// instrument that is talked to is talked to. Time stamps in it are of another
// day, so arrival and latency serve.
type replay struct {
	traffic []Traffic
	base    time.Time
}

func newReplay(c Config) (transport, error) {
	file, err := userfile.Open(c.Address, userfile.Recording)
	if err != nil {
		return nil, err
	}
	defer file.Close()
	base := time.Unix(0, 0)
	t, err := ReadRecording(c.Address, file, base)
	return &replay{t, base}, err
}

func (t *replay) run(ctx context.Context, f *Feed) error {
	if ins := f.cfg.Instrument; ins != nil && ins.Talks() {
		ours, theirs := net.Pipe()
		go t.answer(ctx, theirs, ins)
		err := stream(ctx, ours, newLink(f))
		if errors.Is(err, errStreamEnded) || errors.Is(err, io.EOF) || errors.Is(err, io.ErrClosedPipe) {
			return &refusal{ErrEnded}
		}
		return &refusal{err}
	}
	l := newLink(f)
	l.up()
	start := time.Now()
	for _, p := range t.traffic {
		select {
		case <-ctx.Done():
			return ctx.Err()
		case <-time.After(time.Until(start.Add(p.At.Sub(t.base)))):
		}
		if p.Sent {
			continue
		}
		if p.Topic != "" || f.cfg.Instrument.Whole(p.Data) {
			l.datagram(p.Data, p.Topic)
			continue
		}
		l.heard(p.Data, "")
		l.line(p.Data, time.Time{})
	}
	return &refusal{ErrEnded}
}

// notAsked is how long the played instrument waits for a question that it was
// asked when it was recorded.
const notAsked = 2 * time.Second

// answer plays the instrument's side: it waits for what it was sent, whatever
// the words, and then says what it said, with the same pauses.
func (t *replay) answer(ctx context.Context, c net.Conn, ins *instrument.Instrument) {
	defer c.Close()
	defer context.AfterFunc(ctx, func() { c.Close() })()
	end := string(ins.End)
	if end == "" {
		end = "\n"
	}
	at := t.base
	for _, p := range t.traffic {
		select {
		case <-ctx.Done():
			return
		case <-time.After(p.At.Sub(at)):
		}
		at = p.At
		if p.Sent {
			c.SetReadDeadline(time.Now().Add(notAsked))
			io.ReadFull(c, make([]byte, len(p.Data)))
			continue
		}
		if _, err := c.Write(append(bytes.Clone(p.Data), end...)); err != nil {
			return
		}
	}
}
