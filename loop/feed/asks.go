package feed

import "fmt"

// oneWay are the transports by which readings come and nothing can be sent to
// the instrument. Files and standard input are not among them: there lies a
// recording of what an instrument answered.
var oneWay = map[string]bool{"udp": true, "osc": true, "http": true, "mqtt": true}

// checkAsked refuses an instrument that only talks when asked on a transport
// that can not ask: it would stay silent for ever.
func (c *Config) checkAsked() error {
	if !oneWay[c.Kind] || c.Instrument == nil || !c.Instrument.Talks() {
		return nil
	}
	what := "waits to be started (start:)"
	if c.Instrument.Asks() {
		what = "only talks when it is asked (poll:)"
	}
	return fmt.Errorf("feed %s: instrument %s %s, and by kind %s nothing can be sent to it; use tcp, serial or exec, or switch it to sending by itself and take that key out of its description",
		c.Name, c.Instrument.Name, what, c.Kind)
}
