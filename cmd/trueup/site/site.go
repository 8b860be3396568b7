package site

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"strings"
	"sync"
	"sync/atomic"
	"time"

	"github.com/eclipse/paho.golang/autopaho"
	"github.com/eclipse/paho.golang/paho"
	"github.com/rs/zerolog"

	"trueup/cmd/trueup/page"
	"trueup/loop/feed"
	"trueup/loop/session"
	"trueup/profiles/printable"
)

// Config is where a machine is told of, and by what name.
type Config struct {
	Broker  feed.Broker // its Topic is the root; empty: "trueup"
	Machine string      // a name without / + #, different from those of the others
	Log     zerolog.Logger
}

// Fixture is how one fixture stands.
type Fixture struct {
	Name string `json:"name"`
	page.Row
}

const (
	pace         = time.Second     // between two publications of how the run stands
	fixturesPace = 5 * time.Second // and of how all fixtures stand
	patience     = 2 * time.Second // for one publication
	farewell     = time.Second     // for the last words
	mostEvents   = 256             // wait for a broker that is away; those beyond are left out
	mostMachines = 64              // are heard of
	mostSaid     = 16 << 10        // bytes that another machine's run may take
)

// Site is a machine's place on the broker. A broker that is away or slow never holds a run up: what
// it missed of the state it gets when it is back, missed events are lost.
type Site struct {
	cfg    Config
	root   string
	events chan []byte
	again  chan struct{} // the link is new
	cancel context.CancelFunc
	over   chan struct{}
	refuse chan error

	mu     sync.Mutex
	board  *page.Board
	others map[string]*page.Elsewhere
	hear   func([]page.Elsewhere)
}

// Check tells what is wrong with a name or a root, before anything is opened.
func (c Config) Check() error {
	if c.Machine == "" || len(c.Machine) > 80 || strings.ContainsAny(c.Machine, "/+#$\x00") || c.Machine != printable.Text(c.Machine) {
		return fmt.Errorf("site: %q is no name for a machine: want up to 80 letters without / + # $", c.Machine)
	}
	if strings.ContainsAny(c.Broker.Topic, "+#$\x00") || strings.HasSuffix(c.Broker.Topic, "/") || len(c.Broker.Topic) > 200 {
		return fmt.Errorf("site: %q can not be the root of topics: want words with / between them, like hall/trueup", c.Broker.Topic)
	}
	return nil
}

// Open connects in the background; it does not wait for the broker, and never fails for its absence.
func Open(ctx context.Context, c Config) (*Site, error) {
	if err := c.Check(); err != nil {
		return nil, err
	}
	ctx, cancel := context.WithCancel(ctx)
	s := &Site{cfg: c, root: c.Broker.Topic, events: make(chan []byte, mostEvents), again: make(chan struct{}, 1), cancel: cancel,
		over: make(chan struct{}), refuse: make(chan error, 1), others: map[string]*page.Elsewhere{}}
	if s.root == "" {
		s.root = "trueup"
	}
	go s.run(ctx)
	return s, nil
}

// Close says goodbye, for a second at most.
func (s *Site) Close() {
	s.cancel()
	<-s.over
}

// Show makes b's state what is told of this machine, and shows on b what others do.
func (s *Site) Show(b *page.Board) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.board = b
	s.hear = func(all []page.Elsewhere) { b.Top(func(t *page.Top) { t.Elsewhere = all }) }
	s.tellOthers()
}

// Entry tells of an entry of a run's journal. It does not wait.
func (s *Site) Entry(e session.Entry) {
	text, err := json.Marshal(e)
	if err != nil {
		return // the journal has refused it too, and says so
	}
	select {
	case s.events <- text:
	default:
	}
}

func (s *Site) topic(what string) string { return s.root + "/" + s.cfg.Machine + "/" + what }

func (s *Site) run(ctx context.Context) {
	defer close(s.over)
	// The connection outlives ctx by the farewell.
	life, end := context.WithCancel(context.WithoutCancel(ctx))
	defer end()
	cfg := s.cfg.Broker.Client(s.topic("online"))
	cfg.OnPublishReceived = []func(paho.PublishReceived) (bool, error){func(p paho.PublishReceived) (bool, error) {
		s.heard(p.Packet.Topic, p.Packet.Payload)
		return true, nil
	}}
	var absent atomic.Bool // and it has been said
	cfg.OnConnectionUp = func(cm *autopaho.ConnectionManager, _ *paho.Connack) {
		absent.Store(false)
		go s.greet(life, cm)
	}
	cfg.OnConnectError = func(err error) {
		if why := feed.BrokerRefusal(err); why != nil {
			select {
			case s.refuse <- why:
			default:
			}
		} else if !absent.Swap(true) {
			s.cfg.Log.Warn().Err(s.cfg.Broker.Absent(err)).Msg("site: the broker is not there; trying again")
		}
	}
	cm, err := autopaho.NewConnection(life, cfg)
	if err != nil {
		s.cfg.Log.Warn().Err(err).Msg("site: nobody else hears of this machine")
		return
	}
	s.tell(ctx, cm)
	bye, done := context.WithTimeout(life, farewell)
	defer done()
	s.state(bye, cm, new(said), true)
	s.publish(bye, cm, "online", []byte("offline"), true)
	cm.Disconnect(bye)
	end()
	<-cm.Done()
}

// greet says that this machine is there, and asks for the others.
func (s *Site) greet(ctx context.Context, cm *autopaho.ConnectionManager) {
	c, done := context.WithTimeout(ctx, patience)
	defer done()
	_, err := cm.Subscribe(c, &paho.Subscribe{Subscriptions: []paho.SubscribeOptions{{Topic: s.root + "/+/online", QoS: 1}, {Topic: s.root + "/+/run", QoS: 1}}})
	if err != nil {
		s.cfg.Log.Warn().Err(err).Msg("site: other machines can not be heard")
	}
	s.publish(c, cm, "online", []byte("online"), true)
	select {
	case s.again <- struct{}{}:
	default:
	}
}

// said is what the broker has of this machine.
type said struct {
	run, fixtures []byte
	when          time.Time // of the fixtures
}

// tell publishes what is new until ctx ends.
func (s *Site) tell(ctx context.Context, cm *autopaho.ConnectionManager) {
	last := new(said)
	tick := time.NewTicker(pace)
	defer tick.Stop()
	for {
		select {
		case <-ctx.Done():
			return
		case why := <-s.refuse:
			s.cfg.Log.Warn().Err(why).Msg("site: nobody else hears of this machine")
			return
		case <-s.again:
			last = new(said)
		case text := <-s.events:
			s.publish(ctx, cm, "events", text, false)
			continue
		case <-tick.C:
		}
		s.state(ctx, cm, last, false)
	}
}

// state publishes how run and fixtures stand, where that has changed.
func (s *Site) state(ctx context.Context, cm *autopaho.ConnectionManager, last *said, all bool) {
	s.mu.Lock()
	b := s.board
	s.mu.Unlock()
	if b == nil {
		return
	}
	now := b.Now()
	t := now.Top
	t.Elsewhere, t.Operator, t.Question, t.Watching = nil, nil, nil, 0 // of this machine's own people
	if text, err := json.Marshal(t); err == nil && !bytes.Equal(text, last.run) && s.publish(ctx, cm, "run", text, true) {
		last.run = text
	}
	if !all && time.Since(last.when) < fixturesPace {
		return
	}
	list := make([]Fixture, 0, len(now.Rows))
	for i, r := range now.Rows {
		list = append(list, Fixture{now.Fixtures[i].Name, r})
	}
	if text, err := json.Marshal(list); err == nil && !bytes.Equal(text, last.fixtures) && s.publish(ctx, cm, "fixtures", text, true) {
		last.fixtures, last.when = text, time.Now()
	}
}

func (s *Site) publish(ctx context.Context, cm *autopaho.ConnectionManager, what string, text []byte, keep bool) bool {
	c, done := context.WithTimeout(ctx, patience)
	defer done()
	_, err := cm.Publish(c, &paho.Publish{Topic: s.topic(what), QoS: 1, Retain: keep, Payload: text})
	if err != nil && !errors.Is(err, context.Canceled) {
		s.cfg.Log.Debug().Err(err).Str("topic", s.topic(what)).Msg("site: not told")
	}
	return err == nil
}
