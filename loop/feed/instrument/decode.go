package instrument

import (
	"bytes"
	"errors"
	"fmt"
	"strings"
	"time"
)

// instrumentDecoder reads messages through a description. Its state lives as
// long as one link.
type instrumentDecoder struct {
	ins    *Instrument
	header map[string]int // csv: column names once seen
	lines  [][]byte       // of the block that is being gathered
	open   bool           // inside a block
	zero   time.Time      // "since start": our time of the instrument's zero
	last   string         // the last reading's text, for new: change
	*Precision
}

func (d *instrumentDecoder) Decode(m Message, now time.Time) ([]Draft, []Aside) {
	if d.ins.as == "osc" {
		return d.decodeOSC(m, now)
	}
	line := m.Data
	for _, re := range d.ins.ignore {
		if re.Match(line) {
			return nil, nil
		}
	}
	if d.ins.checksum != nil && len(bytes.TrimSpace(line)) > 0 {
		t, err := d.ins.checksum.strip(line)
		if err != nil {
			if d.ins.block != nil && !d.open {
				return nil, nil // chatter between blocks
			}
			return nil, []Aside{{BadChecksum, err.Error(), Cut(line)}}
		}
		line = t
	}
	if d.ins.block != nil {
		whole, aside := d.gather(line)
		if aside != nil {
			return nil, []Aside{*aside}
		}
		if whole == nil {
			return nil, nil
		}
		line = whole
	}
	if len(bytes.TrimSpace(line)) == 0 {
		return nil, nil
	}
	m.Data = line
	return d.one(m, now)
}

// gather adds a line to the block and returns the block when it is whole.
func (d *instrumentDecoder) gather(line []byte) ([]byte, *Aside) {
	b := d.ins.block
	if b.begin != nil && b.begin.Match(line) {
		var lost *Aside
		if d.open {
			lost = &Aside{Unreadable, fmt.Sprintf("a reading broke off after %d lines", len(d.lines)), Cut(bytes.Join(d.lines, []byte("\n")))}
		}
		d.open, d.lines = true, append(d.lines[:0], bytes.Clone(line))
		if b.lines != 1 {
			return nil, lost
		}
	} else if !d.open {
		return nil, nil
	} else {
		d.lines = append(d.lines, bytes.Clone(line))
	}
	n := len(d.lines)
	done := false
	switch {
	case b.lines > 0:
		done = n >= b.lines
	case b.end != nil:
		done = b.end.Match(line)
	default:
		done = len(bytes.TrimSpace(line)) == 0
	}
	if done {
		whole := bytes.Join(d.lines, []byte("\n"))
		d.open, d.lines = false, d.lines[:0]
		return whole, nil
	}
	if n >= b.max {
		whole := bytes.Join(d.lines, []byte("\n"))
		d.open, d.lines = false, d.lines[:0]
		return nil, &Aside{Unreadable, fmt.Sprintf("no end after %d lines", n), Cut(whole)}
	}
	return nil, nil
}

// one reads one whole message.
func (d *instrumentDecoder) one(m Message, now time.Time) ([]Draft, []Aside) {
	for _, e := range d.ins.errors {
		found := e.when.FindSubmatch(m.Data)
		if found == nil {
			continue
		}
		words := e.say
		if words == "" {
			words = "the instrument says so"
		}
		switch e.is {
		case "skip":
			return nil, nil
		case "saturated":
			return nil, []Aside{{Overdriven, words, Cut(m.Data)}}
		case "underrange":
			d := Draft{Flags: Underrange, Raw: Cut(m.Data)}
			if i := e.when.SubexpIndex("probe"); i > 0 {
				d.Probe = string(found[i])
			}
			return []Draft{d}, nil
		}
		return nil, []Aside{{Fault, words, Cut(m.Data)}}
	}
	v, err := d.takeApart(m)
	if err == nil && v == nil {
		return nil, nil // a header
	}
	if err != nil {
		return nil, []Aside{{Unreadable, err.Error(), Cut(m.Data)}}
	}
	return d.build(v, m, now)
}

func (d *instrumentDecoder) takeApart(m Message) (decoded, error) {
	switch d.ins.as {
	case "json":
		return openJSON(m.Data)
	case "csv":
		cells := splitCSV(string(m.Data), d.ins.separator)
		if d.ins.header && d.isHeader(cells) {
			d.header = map[string]int{}
			for i, c := range cells {
				d.header[strings.ToLower(strings.TrimSpace(c))] = i + 1
			}
			return nil, nil
		}
		if d.ins.header && d.header == nil {
			return nil, errors.New("no line with the names of the columns has come yet")
		}
		return decodedCSV{cells, d.header}, nil
	case "columns":
		return decodedColumns{string(m.Data)}, nil
	case "regexp":
		sep := ""
		if s := d.ins.spectrum; s != nil {
			sep = s.separator
		}
		return openRegexp(d.ins.pattern, m.Data, sep)
	}
	return nil, fmt.Errorf("can not read as %q", d.ins.as)
}

// isHeader: a line is the header when it holds every column name that the
// description uses.
func (d *instrumentDecoder) isHeader(cells []string) bool {
	has := func(name string) bool {
		for _, c := range cells {
			if strings.EqualFold(strings.TrimSpace(c), name) {
				return true
			}
		}
		return false
	}
	named := false
	for _, f := range d.ins.fields.all() {
		if f.field == nil || f.place == nil || f.place.name == "" {
			continue
		}
		named = true
		if !has(f.place.name) {
			return false
		}
	}
	return named || d.header == nil
}
