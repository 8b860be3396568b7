package rig

import (
	"fmt"
	"net/netip"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"time"

	"trueup/dmx"
	"trueup/loop/feed"
)

// sacnPort is the E1.31 port (E1.31-2018 9.3, ACN_SDT_MULTICAST_PORT).
const sacnPort = 5568

func (r *reader) output(raw *fileOutput) {
	o := &r.rig.Output
	o.Mode = Own
	if raw.Mode != "" {
		o.Mode = Mode(raw.Mode)
	}
	o.Priority, o.AutoPriority = DefaultPriority, o.Mode == Overlay && raw.Priority == nil
	if raw.Priority != nil {
		o.Priority = uint8(*raw.Priority)
		if o.Mode == Overlay && o.Priority == 0 {
			r.fault("$.output.priority", "an overlay at priority 0 lies above nobody").Advise("write a priority above the desk's, or none: that takes one above the highest heard")
		}
	}
	o.SourceName = raw.SourceName
	if o.SourceName == "" {
		o.SourceName = DefaultSourceName
	}
	if err := checkName(o.SourceName); err != nil { // 63 bytes: E1.31-2018 6.2.2
		r.fault("$.output.source_name", "source name: %v", err)
	}
	for i, text := range raw.Unicast {
		a, err := hostport(text)
		if err != nil {
			r.fault(fmt.Sprintf("$.output.unicast[%d]", i), "%v", err)
			continue
		}
		if slices.Contains(o.Unicast, a) {
			r.fault(fmt.Sprintf("$.output.unicast[%d]", i), "%s is listed twice; every receiver once", a)
		}
		o.Unicast = append(o.Unicast, a)
	}
	o.Multicast = len(raw.Unicast) == 0
	if raw.Multicast != nil {
		o.Multicast = *raw.Multicast
	}
	if !o.Multicast && len(raw.Unicast) == 0 {
		r.fault("$.output.multicast", "nothing would be sent: no multicast and no unicast address").Advise("name a receiver under unicast, or take multicast: false out")
	}
	for i, name := range raw.Interfaces {
		if name == "" || strings.ContainsAny(name, " \t\n") {
			r.fault(fmt.Sprintf("$.output.interfaces[%d]", i), "interface %q: want a name of a network interface, such as eth0", name)
		}
	}
	if len(raw.Interfaces) > 0 && !o.Multicast {
		r.fault("$.output.interfaces", "interfaces are for multicast, and this rig sends unicast only").Advise("add multicast: true, or take them out")
	}
	o.Interfaces = raw.Interfaces
	if raw.IPv6 != "" && !o.Multicast {
		r.fault("$.output.ipv6", "ipv6 is for multicast, and this rig sends unicast only").Advise("add multicast: true, or take it out; a unicast address may be an IPv6 address")
	}
	o.IPv6 = IPv6Use(raw.IPv6)
}

// Local tells whether levels go to nothing but programs of this machine, at ports
// of their own, such as the simulated stage. No other source finds a receiver
// there: the standard's port is one for all (E1.31-2018 9.3).
func (o *Output) Local() bool {
	return !o.Multicast && !slices.ContainsFunc(o.Unicast, func(a netip.AddrPort) bool {
		return !a.Addr().Unmap().IsLoopback() || a.Port() == sacnPort
	})
}

// hostport reads "10.0.0.7" or "10.0.0.7:5568".
func hostport(text string) (netip.AddrPort, error) {
	if a, err := netip.ParseAddr(text); err == nil {
		return netip.AddrPortFrom(a, sacnPort), nil
	}
	a, err := netip.ParseAddrPort(text)
	if err != nil || a.Port() == 0 {
		return netip.AddrPort{}, fmt.Errorf("receiver %q: want an IP address with or without a port, such as 10.0.0.7 or 10.0.0.7:5568", text)
	}
	return a, nil
}

// kinds are the transports of a feed; those with true need an address.
var kinds = map[string]bool{"tcp": true, "tcp-listen": true, "udp": true, "stdin": false, "file": true,
	"serial": true, "exec": true, "http": true, "osc": true, "mqtt": true, "hand": false}

func (r *reader) feeds(raw []fileFeed) {
	seen := map[string]bool{}
	for i, f := range raw {
		at := fmt.Sprintf("$.feeds[%d]", i)
		d := Feed{Name: f.Name, Kind: f.Kind, Address: f.Address, Probes: f.Probes, Pos: r.pos(at)}
		if d.Name == "" {
			d.Name = "meter"
		}
		if err := checkName(d.Name); err != nil {
			r.fault(at+".name", "feed: %v", err)
		}
		if seen[d.Name] {
			r.fault(at+".name", "two feeds are called %q", d.Name).Advise("give each a name of its own")
		}
		seen[d.Name] = true
		if d.Kind == "" {
			d.Kind = "tcp"
		}
		needs, known := kinds[d.Kind]
		switch {
		case !known: // said already: the file's shape lists the kinds
		case needs && d.Address == "":
			r.fault(at, "feed %q of kind %s needs an address", d.Name, d.Kind).Advise("add address: to it")
		case !needs && d.Address != "":
			r.fault(at+".address", "a feed of kind %s has no address", d.Kind).Advise("take the address out")
		case needs:
			if err := feed.CheckAddress(d.Kind, d.Address); err != nil {
				r.fault(at+".address", "feed %q: %v", d.Name, err)
			}
		}
		if f.Instrument != "" {
			d.Instrument = r.resolve(f.Instrument)
			if err := r.instrument(d.Instrument); err != nil {
				r.fault(at+".instrument", "instrument %s can not be used: %v", f.Instrument, err)
			}
		}
		if d.Kind == "file" && d.Address != "" {
			d.Address = r.resolve(d.Address)
		}
		for from, to := range f.Probes {
			if err := checkName(to); err != nil && !r.doc.Failed(at+".probes") {
				r.fault(at+".probes", "probe %q: %v", from, err)
			}
		}
		limit := within(0, time.Minute)
		d.Latency = take(r, at+".latency", f.Latency, 0, limit)
		d.Integration = take(r, at+".integration", f.Integration, 0, limit)
		d.StaleAfter = take(r, at+".stale_after", f.StaleAfter, 0, within(100*time.Millisecond, time.Hour))
		r.rig.Feeds = append(r.rig.Feeds, d)
	}
}

// probes lists the probe names that the feeds declare, sorted; empty where no
// feed lists any, and then every name is possible.
func (r *reader) probes() []string {
	var names []string
	for _, f := range r.rig.Feeds {
		for _, to := range f.Probes {
			if to != "" { // else it is at fault, and said so
				names = append(names, to)
			}
		}
	}
	slices.Sort(names)
	return slices.Compact(names)
}

// resolve finds a file named in the rig relative to the rig's folder.
func (r *reader) resolve(name string) string {
	name = filepath.FromSlash(name)
	if filepath.IsAbs(name) {
		return name
	}
	return filepath.Join(r.rig.Dir, name)
}

// slotRange reads "1/400" or "1/400..410".
func slotRange(text string) (dmx.Span, error) {
	begin, end, ranged := strings.Cut(text, "..")
	a, err := dmx.ParseAddress(begin)
	if err != nil {
		return dmx.Span{}, err
	}
	sr := dmx.Span{Universe: a.Universe, First: a.Slot, Last: a.Slot}
	if ranged {
		n, err := strconv.Atoi(end)
		if err != nil || n < int(a.Slot) || n > dmx.SlotsPerUniverse {
			return dmx.Span{}, fmt.Errorf("slots %q: want a last slot within %d..%d behind the dots, such as %s..%d",
				text, a.Slot, dmx.SlotsPerUniverse, a, min(int(a.Slot)+9, dmx.SlotsPerUniverse))
		}
		sr.Last = dmx.Slot(n)
	}
	return sr, nil
}
