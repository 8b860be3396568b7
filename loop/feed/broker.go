package feed

import (
	"crypto/tls"
	"errors"
	"fmt"
	"net"
	"net/url"

	"github.com/eclipse/paho.golang/autopaho"
	"github.com/eclipse/paho.golang/paho"

	"trueup/profiles/oserror"
)

const mqttKeepAlive = 10 // seconds; a dead broker is noticed after 1.5 times this

// Broker is how an MQTT broker is reached, by MQTT 5 (OASIS 2019).
type Broker struct {
	Topic string // what stood behind the address: mqtt://host:1883/TOPIC; empty if nothing did

	url  *url.URL
	tls  *tls.Config
	user string
	pass []byte
	id   string
}

// NewBroker reads an address like mqtt://host:1883/topic, or mqtts:// for TLS, and what this machine
// needs to be let in. Errors say what is wrong with the address, the certificates, or what stands where
// it does not belong.
func NewBroker(address string, s Secret) (Broker, error) {
	b := Broker{user: s.User, pass: []byte(s.Password), id: s.ClientID}
	address, b.Topic = splitTopic(address)
	u, err := url.Parse(address)
	switch {
	case err != nil || u.Host == "" || u.Scheme != "mqtt" && u.Scheme != "mqtts":
		return b, fmt.Errorf("%q: want a broker like mqtt://host:1883, or mqtts://host:8883 for TLS", address)
	case u.User != nil:
		return b, errors.New("user and password do not belong into the address, but into the secrets of this machine")
	case u.Scheme == "mqtts":
		if b.tls, err = tlsConfig(s); err != nil {
			return b, err
		}
	case s.CAFile != "" || s.CertFile != "":
		return b, errors.New("certificates go with mqtts://")
	}
	b.url = u
	return b, nil
}

// Client is a connection that comes back by itself, with a clean session: what was published while we
// were away is old. will, if not empty, is a topic that holds "online" while we are there, once the
// caller has published that, and "offline" else, by the broker's last will.
func (b Broker) Client(will string) autopaho.ClientConfig {
	cfg := autopaho.ClientConfig{
		ServerUrls: []*url.URL{b.url}, TlsCfg: b.tls, KeepAlive: mqttKeepAlive, ConnectTimeout: dialTimeout,
		CleanStartOnInitialConnection: true, ConnectUsername: b.user, ConnectPassword: b.pass,
		ReconnectBackoff: autopaho.NewExponentialBackoff(backOffFirst, backOffLast, backOffLast/2, 2),
		ClientConfig:     paho.ClientConfig{ClientID: b.id},
	}
	if will != "" {
		cfg.WillMessage = &paho.WillMessage{Topic: will, Payload: []byte("offline"), QoS: 1, Retain: true}
		cfg.WillProperties = &paho.WillProperties{}
	}
	return cfg
}

// BrokerRefusal is why a broker will never let us in, however often it is tried; nil if it may.
func BrokerRefusal(err error) error {
	var denied *autopaho.ConnackError
	if errors.As(err, &denied) && (denied.ReasonCode == 0x86 || denied.ReasonCode == 0x87) {
		return errors.New("the broker does not let us in: user or password is wrong, or not allowed")
	}
	var cert *tls.CertificateVerificationError
	if errors.As(err, &cert) {
		return fmt.Errorf("the broker: %w", oserror.Plain(cert))
	}
	return nil
}

// Absent says why there is no connection to the broker at present.
func (b Broker) Absent(err error) error {
	var denied *autopaho.ConnackError
	if errors.As(err, &denied) {
		return fmt.Errorf("the broker at %s turns us away at present (MQTT reason 0x%02X)", b.url.Host, denied.ReasonCode)
	}
	var socket *net.OpError
	var noTLS tls.RecordHeaderError
	switch {
	case errors.As(err, &socket) && socket.Op == "dial":
		err = socket
	case errors.As(err, &noTLS):
		err = noTLS
	default:
		return &notBroker{b.url.Host, err}
	}
	return fmt.Errorf("no MQTT broker: %w", oserror.Plain(err))
}

// notBroker says what stands at an address, and keeps why.
type notBroker struct {
	host  string
	cause error
}

func (e *notBroker) Error() string {
	return fmt.Sprintf("what answers at %s does not talk as an MQTT 5 broker: look at address and port", e.host)
}

func (e *notBroker) Unwrap() error { return e.cause }
