package feed

import (
	"context"
	"crypto/tls"
	"crypto/x509"
	"errors"
	"fmt"
	"net/url"
	"strings"
	"time"

	"github.com/eclipse/paho.golang/autopaho"
	"github.com/eclipse/paho.golang/paho"

	"trueup/loop/feed/instrument"
	"trueup/profiles/userfile"
)

// mqttClient takes readings from a broker: MQTT 5 (OASIS 2019), QoS 1. The
// session is always clean: what was published while we were away is old light.
type mqttClient struct {
	url   *url.URL
	topic string
	tls   *tls.Config
	will  string
	user  string
	pass  []byte
	id    string
}

const mqttKeepAlive = 10 // seconds; a dead broker is noticed after 1.5 times this

func newMQTT(c Config) (transport, error) {
	address, topic := splitTopic(c.Address)
	if c.Topic != "" {
		topic = c.Topic
	}
	secret := c.Secrets[c.Name]
	u, err := url.Parse(address)
	if err != nil || u.Host == "" || u.Scheme != "mqtt" && u.Scheme != "mqtts" {
		return nil, fmt.Errorf("feed %s: %q: want a broker like mqtt://host:1883, or mqtts://host:8883 for TLS", c.Name, c.Address)
	}
	if u.User != nil {
		return nil, fmt.Errorf("feed %s: user and password do not belong into the address, but into the secrets of this machine", c.Name)
	}
	if topic == "" {
		return nil, fmt.Errorf("feed %s: which topic? Put it behind the address, like mqtt://host:1883/site/+/colour", c.Name)
	}
	m := &mqttClient{url: u, topic: topic, will: secret.StateTopic, user: secret.User, pass: []byte(secret.Password), id: secret.ClientID}
	if u.Scheme == "mqtts" {
		if m.tls, err = tlsConfig(secret); err != nil {
			return nil, fmt.Errorf("feed %s: %w", c.Name, err)
		}
	} else if secret.CAFile != "" || secret.CertFile != "" {
		return nil, fmt.Errorf("feed %s: certificates go with mqtts://", c.Name)
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
	cfg := autopaho.ClientConfig{
		ServerUrls: []*url.URL{t.url}, TlsCfg: t.tls, KeepAlive: mqttKeepAlive, ConnectTimeout: dialTimeout,
		CleanStartOnInitialConnection: true, ConnectUsername: t.user, ConnectPassword: t.pass,
		ReconnectBackoff: autopaho.NewExponentialBackoff(backOffFirst, backOffLast, backOffLast/2, 2),
		OnConnectionUp: func(cm *autopaho.ConnectionManager, _ *paho.Connack) {
			// Not in this goroutine: it must not block.
			go func() {
				c, done := context.WithTimeout(stop, dialTimeout)
				defer done()
				ack, err := cm.Subscribe(c, &paho.Subscribe{Subscriptions: []paho.SubscribeOptions{{Topic: t.topic, QoS: 1}}})
				if err != nil {
					if ack != nil && len(ack.Reasons) > 0 && ack.Reasons[0] >= 0x80 {
						cancel(refuse("the broker refuses %q (reason 0x%02X)", t.topic, ack.Reasons[0]))
					}
					return
				}
				l.up()
				if t.will != "" {
					cm.Publish(c, &paho.Publish{Topic: t.will, QoS: 1, Retain: true, Payload: []byte("online")})
				}
			}()
		},
		OnConnectionDown: func() bool { f.linkDown(errors.New("the broker is gone"), 0); return true },
		OnConnectError: func(err error) {
			var denied *autopaho.ConnackError
			if errors.As(err, &denied) && (denied.ReasonCode == 0x86 || denied.ReasonCode == 0x87) {
				cancel(refuse("the broker does not let us in: user or password is wrong, or not allowed"))
				return
			}
			var cert *tls.CertificateVerificationError
			if errors.As(err, &cert) {
				cancel(refuse("the broker's certificate is not trusted: %w", cert))
				return
			}
			f.linkDown(err, 0)
		},
		ClientConfig: paho.ClientConfig{ClientID: t.id, OnPublishReceived: []func(paho.PublishReceived) (bool, error){router}},
	}
	if t.will != "" {
		cfg.WillMessage = &paho.WillMessage{Topic: t.will, Payload: []byte("offline"), QoS: 1, Retain: true}
		cfg.WillProperties = &paho.WillProperties{}
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
