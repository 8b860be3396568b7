package feed

import (
	"context"
	"crypto/tls"
	"crypto/x509"
	"errors"
	"fmt"
	"strings"
	"time"

	"github.com/eclipse/paho.golang/autopaho"
	"github.com/eclipse/paho.golang/paho"

	"trueup/loop/feed/instrument"
	"trueup/profiles/userfile"
)

// mqttClient takes readings from a broker, QoS 1.
type mqttClient struct {
	Broker
	topic string
	will  string
}

func newMQTT(c Config) (transport, error) {
	secret := c.Secrets[c.Name]
	b, err := NewBroker(c.Address, secret)
	if err != nil {
		return nil, fmt.Errorf("feed %s: %w", c.Name, err)
	}
	m := &mqttClient{Broker: b, topic: b.Topic, will: secret.StateTopic}
	if c.Topic != "" {
		m.topic = c.Topic
	}
	if m.topic == "" {
		return nil, fmt.Errorf("feed %s: which topic? Put it behind the address, like mqtt://host:1883/site/+/colour", c.Name)
	}
	return m, nil
}

// splitTopic cuts the topic off an address; a # in it is no fragment.
func splitTopic(address string) (broker, topic string) {
	scheme, rest, ok := strings.Cut(address, "://")
	if !ok {
		return address, ""
	}
	host, topic, _ := strings.Cut(rest, "/")
	return scheme + "://" + host, topic
}

func tlsConfig(c Secret) (*tls.Config, error) {
	t := &tls.Config{MinVersion: tls.VersionTLS12}
	if c.CAFile != "" {
		pem, err := userfile.Read(c.CAFile, userfile.Certificate)
		if err != nil {
			return nil, err
		}
		t.RootCAs = x509.NewCertPool()
		if !t.RootCAs.AppendCertsFromPEM(pem) {
			return nil, fmt.Errorf("%s holds no certificate", c.CAFile)
		}
	}
	if c.CertFile != "" {
		pem, err := userfile.Read(c.CertFile, userfile.Certificate)
		if err != nil {
			return nil, err
		}
		key, err := userfile.Read(c.KeyFile, userfile.Certificate)
		if err != nil {
			return nil, err
		}
		cert, err := tls.X509KeyPair(pem, key)
		if err != nil {
			return nil, fmt.Errorf("%s and %s: %w", c.CertFile, c.KeyFile, err)
		}
		t.Certificates = []tls.Certificate{cert}
	}
	return t, nil
}

func (t *mqttClient) run(ctx context.Context, f *Feed) error {
	from := newPeers(f)
	l := from.rest
	stop, cancel := context.WithCancelCause(ctx)
	defer cancel(nil)
	router := func(p paho.PublishReceived) (bool, error) {
		if p.Packet.Retain {
			f.setAside(Aside{Reason: OutOfOrder, Words: "kept by the broker from an earlier time", Raw: instrument.Cut(p.Packet.Payload)})
			return true, nil
		}
		from.of(p.Packet.Topic, time.Now()).datagram(p.Packet.Payload, p.Packet.Topic)
		return true, nil
	}
	cfg := t.Client(t.will)
	cfg.OnPublishReceived = []func(paho.PublishReceived) (bool, error){router}
	cfg.OnConnectionUp = func(cm *autopaho.ConnectionManager, _ *paho.Connack) {
		// Not in this goroutine: it must not block.
		go func() {
			c, done := context.WithTimeout(stop, dialTimeout)
			defer done()
			ack, err := cm.Subscribe(c, &paho.Subscribe{Subscriptions: []paho.SubscribeOptions{{Topic: t.topic, QoS: 1}}})
			if err != nil {
				if ack != nil && len(ack.Reasons) > 0 && ack.Reasons[0] >= 0x80 {
					cancel(refuse("the broker does not let us read the topic %q: look at the topic, and at what this user may (MQTT reason 0x%02X)", t.topic, ack.Reasons[0]))
				}
				return
			}
			l.up()
			if t.will != "" {
				cm.Publish(c, &paho.Publish{Topic: t.will, QoS: 1, Retain: true, Payload: []byte("online")})
			}
		}()
	}
	cfg.OnConnectionDown = func() bool { f.linkDown(errors.New("the MQTT broker has gone; waiting for it")); return true }
	cfg.OnConnectError = func(err error) {
		if why := BrokerRefusal(err); why != nil {
			cancel(refuse("%w", why))
			return
		}
		f.linkDown(t.Absent(err))
	}
	// The connection outlives stop by the farewell.
	life, end := context.WithCancel(context.WithoutCancel(ctx))
	defer end()
	cm, err := autopaho.NewConnection(life, cfg)
	if err != nil {
		return refuse("%w", err)
	}
	<-stop.Done()
	bye, done := context.WithTimeout(life, time.Second)
	defer done()
	if t.will != "" && ctx.Err() != nil {
		cm.Publish(bye, &paho.Publish{Topic: t.will, QoS: 1, Retain: true, Payload: []byte("offline")})
	}
	cm.Disconnect(bye)
	end()
	<-cm.Done()
	return context.Cause(stop)
}
