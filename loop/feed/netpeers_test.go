package feed

import (
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/x509"
	"crypto/x509/pkix"
	"encoding/pem"
	"fmt"
	"math/big"
	"net"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"trueup/loop/feed/instrument"
)

// describe makes an instrument of a description that must be right.
func describe(t testing.TB, text string) *instrument.Instrument {
	t.Helper()
	ins, err := instrument.Parse("test.yaml", []byte("instrument: test\n"+text))
	if err != nil {
		t.Fatal(err)
	}
	return ins
}

// Messages of an OSC sender are taken apart by argument and address; other
// addresses are passed over.
func TestOSCSender(t *testing.T) {
	oscsend := peer(t, "oscsend")
	ins := describe(t, "read: {as: osc, address: /meter/*/colour}\nfields: {x: 1, y: 2, level: 3, seq: 4, probe: topic/2}\n")
	f := openFeed(t, Config{Name: "osc", Kind: "osc", Address: "127.0.0.1:0", Instrument: ins})
	_, port, _ := net.SplitHostPort(address(t, f).String())
	for i := 1; i <= 3; i++ { // each call is a sender that comes and goes
		run(t, nil, oscsend, "127.0.0.1", port, "/meter/left/battery", "i", "88")
		run(t, nil, oscsend, "127.0.0.1", port, "/meter/left/colour", "fffi", "0.3127", "0.3290", "812.5", fmt.Sprint(i))
		r := next(t, f)
		if r.Probe != "left" || r.Seq != uint64(i) || r.Y != 812.5 {
			t.Fatalf("%+v", r)
		}
		xy := r.UV.XY()
		if d := abs(xy.X-0.3127) + abs(xy.Y-0.3290); d > 1e-6 {
			t.Errorf("x %v y %v", xy.X, xy.Y)
		}
	}
}

func abs(x float64) float64 {
	if x < 0 {
		return -x
	}
	return x
}

// Readings may be posted from this machine; nothing else gets in.
func TestHTTPEndpoint(t *testing.T) {
	curl := peer(t, "curl")
	post := func(t *testing.T, url string, args ...string) string {
		t.Helper()
		return run(t, nil, curl, append([]string{"-s", "-o", "/dev/null", "-w", "%{http_code}", url}, args...)...)
	}
	f := openFeed(t, Config{Name: "post", Kind: "http", Address: "127.0.0.1:0", MaxLine: 1000, MaxRate: 20})
	url := "http://" + address(t, f).String() + "/readings"
	for i := 1; i <= 3; i++ {
		if code := post(t, url, "-d", lineOf(i)); code != "204" {
			t.Fatalf("a good reading got %s", code)
		}
		if r := next(t, f); r.Seq != uint64(i) {
			t.Fatalf("%+v", r)
		}
	}
	for _, c := range []struct {
		what, want string
		args       []string
	}{
		{"the same reading again", "422", []string{"-d", lineOf(3)}},
		{"no reading", "422", []string{"-d", "hello"}},
		{"a GET", "405", nil},
		{"a web page", "403", []string{"-d", lineOf(9), "-H", "Origin: http://stage.example"}},
		{"a page under its own name", "403", []string{"-d", lineOf(9), "-H", "Host: stage.example"}},
		{"a large body", "413", []string{"-d", strings.Repeat("x", 2000)}},
	} {
		if code := post(t, url, c.args...); code != c.want {
			t.Errorf("%s got %s, want %s", c.what, code, c.want)
		}
	}
	if s := f.Status(); s.Accepted != 3 {
		t.Errorf("accepted %d, want 3", s.Accepted)
	}
	flood := strings.TrimSuffix(strings.Repeat("{}\n", 40), "\n")
	if code := post(t, url, "-d", flood); code != "429" {
		t.Errorf("a flood got %s, want 429", code)
	}
}

func TestHTTPNeedsAKeyBeyondThisMachine(t *testing.T) {
	curl := peer(t, "curl")
	for _, key := range []string{"", "short"} {
		if _, err := Open(t.Context(), Config{Name: "post", Kind: "http", Address: "0.0.0.0:0", Secrets: map[string]Secret{"post": {Key: key}}}); err == nil {
			t.Errorf("key %q: want an error", key)
		}
	}
	key := "0123456789abcdef"
	f := openFeed(t, Config{Name: "post", Kind: "http", Address: "127.0.0.1:0", Secrets: map[string]Secret{"post": {Key: key}}})
	url := "http://" + address(t, f).String()
	for _, c := range []struct{ header, want string }{
		{"X: y", "401"}, {"Authorization: Bearer 0123456789abcdeX", "401"}, {"Authorization: Bearer " + key, "204"},
	} {
		if code := run(t, nil, curl, "-s", "-o", "/dev/null", "-w", "%{http_code}", url, "-d", lineOf(1), "-H", c.header); code != c.want {
			t.Errorf("%s got %s, want %s", c.header, code, c.want)
		}
	}
}

// A broker may die and return in mid-run; what it kept from before is not
// taken for light of now; everybody can see whether we are there.
func TestMQTTBrokerDiesAndReturns(t *testing.T) {
	mosquitto, pub, sub := peer(t, "mosquitto"), peer(t, "mosquitto_pub"), peer(t, "mosquitto_sub")
	port := freePort(t)
	conf := filepath.Join(t.TempDir(), "broker.conf")
	os.WriteFile(conf, []byte("listener "+port+" 127.0.0.1\nallow_anonymous true\npersistence false\n"), 0o600)
	// Every message names its probe by its topic.
	ins := describe(t, "read: {as: json}\nfields: {x: colour.x, y: colour.y, seq: n, probe: topic/2}\n")
	var f *Feed
	live := uint64(0) // messages that were to be kept ones, and came after we were back already
	for life := 1; life <= 3; life++ {
		kill := begin(t, nil, mosquitto, "-c", conf)
		waitPort(t, port)
		publish := func(args ...string) {
			t.Helper()
			run(t, nil, pub, append([]string{"-h", "127.0.0.1", "-p", port, "-V", "5", "-q", "1"}, args...)...)
		}
		publish("-t", "site/left/colour", "-r", "-m", `{"n":1,"colour":{"x":0.5,"y":0.4}}`)
		if f == nil {
			f = openFeed(t, Config{Name: "site", Kind: "mqtt", Address: "mqtt://127.0.0.1:" + port + "/site/+/colour", Instrument: ins,
				Secrets: map[string]Secret{"site": {StateTopic: "site/trueup"}}})
		}
		until(t, f, "connected", func(s Status) bool { return s.Links == life })
		for _, probe := range []string{"left", "right"} {
			publish("-t", "site/"+probe+"/colour", "-m", fmt.Sprintf("{\n \"n\": %d,\n \"colour\": {\"x\": 0.31, \"y\": 0.33}\n}", life+1))
		}
		for _, want := range []string{"left", "right"} {
			r := next(t, f)
			if life > 1 && r.Seq == 1 {
				live, r = live+1, next(t, f)
			}
			if r.Probe != want || r.Seq != uint64(life+1) || r.RoundXY != 0.01 {
				t.Fatalf("life %d: %+v", life, r)
			}
		}
		if got := run(t, nil, sub, "-h", "127.0.0.1", "-p", port, "-t", "site/trueup", "-C", "1", "-W", "10"); strings.TrimSpace(got) != "online" {
			t.Errorf("state topic says %q, want online", got)
		}
		if life == 3 {
			f.Close()
			if got := run(t, nil, sub, "-h", "127.0.0.1", "-p", port, "-t", "site/trueup", "-C", "1", "-W", "10"); strings.TrimSpace(got) != "offline" {
				t.Errorf("after closing, the state topic says %q, want offline", got)
			}
		}
		kill()
		if life < 3 {
			until(t, f, "noticed the loss", func(s Status) bool { return s.State == Waiting })
		}
	}
	if n := f.Status().SetAside[OutOfOrder]; n != 3-live {
		t.Errorf("%d kept messages set aside, want %d", n, 3-live)
	}
}

func waitPort(t *testing.T, port string) {
	t.Helper()
	for deadline := time.Now().Add(time.Minute); ; time.Sleep(5 * time.Millisecond) {
		c, err := net.Dial("tcp", "127.0.0.1:"+port)
		if err == nil {
			c.Close()
			return
		}
		if time.Now().After(deadline) {
			t.Fatal(err)
		}
	}
}

// Over TLS with a password, a broker with the right certificate is talked to;
// a wrong certificate or password is refused for good, and said.
func TestMQTTOverTLSWithPassword(t *testing.T) {
	mosquitto, passwd, pub := peer(t, "mosquitto"), peer(t, "mosquitto_passwd"), peer(t, "mosquitto_pub")
	dir := t.TempDir()
	ca, cert, key := makeCerts(t, dir)
	pw := filepath.Join(dir, "pw")
	run(t, nil, passwd, "-b", "-c", pw, "gaffer", "secret word")
	port := freePort(t)
	conf := filepath.Join(dir, "broker.conf")
	os.WriteFile(conf, fmt.Appendf(nil, "user %s\nlistener %s 127.0.0.1\ncertfile %s\nkeyfile %s\npassword_file %s\nallow_anonymous false\n", brokerUser(), port, cert, key, pw), 0o644)
	begin(t, nil, mosquitto, "-c", conf)
	waitPort(t, port)
	c := Config{Name: "site", Kind: "mqtt", Address: "mqtts://127.0.0.1:" + port, Topic: "colour",
		Secrets: map[string]Secret{"site": {User: "gaffer", Password: "secret word", CAFile: ca}}}
	f := openFeed(t, c)
	until(t, f, "connected", func(s Status) bool { return s.Links == 1 })
	run(t, nil, pub, "-h", "127.0.0.1", "-p", port, "--cafile", ca, "-u", "gaffer", "-P", "secret word", "-q", "1", "-t", "colour", "-m", lineOf(1))
	if r := next(t, f); r.Seq != 1 {
		t.Fatalf("%+v", r)
	}
	wrong := c
	wrong.Secrets = map[string]Secret{"site": {User: "gaffer", Password: "guess", CAFile: ca}}
	stranger := c
	stranger.Secrets = map[string]Secret{"site": {User: "gaffer", Password: "secret word"}}
	for what, c := range map[string]Config{"password": wrong, "certificate": stranger} {
		f := openFeed(t, c)
		if _, err := f.Next(soon(t)); err == nil || !strings.Contains(err.Error(), what) {
			t.Errorf("%s: %v", what, err)
		}
		if s := f.Status(); s.State != Refused {
			t.Errorf("%s: state %v", what, s.State)
		}
	}
}

// brokerUser keeps a broker that is started by root from becoming somebody who
// may not read the test's files.
func brokerUser() string {
	if os.Getuid() == 0 {
		return "root"
	}
	return "mosquitto"
}

// makeCerts makes an authority and a certificate for 127.0.0.1.
func makeCerts(t *testing.T, dir string) (ca, cert, key string) {
	t.Helper()
	write := func(name, kind string, der []byte) string {
		p := filepath.Join(dir, name)
		if err := os.WriteFile(p, pem.EncodeToMemory(&pem.Block{Type: kind, Bytes: der}), 0o644); err != nil {
			t.Fatal(err)
		}
		return p
	}
	caKey, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		t.Fatal(err)
	}
	caT := &x509.Certificate{SerialNumber: big.NewInt(1), Subject: pkix.Name{CommonName: "test authority"}, NotBefore: time.Now().Add(-time.Hour),
		NotAfter: time.Now().Add(time.Hour), IsCA: true, BasicConstraintsValid: true, KeyUsage: x509.KeyUsageCertSign}
	caDER, err := x509.CreateCertificate(rand.Reader, caT, caT, &caKey.PublicKey, caKey)
	if err != nil {
		t.Fatal(err)
	}
	k, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		t.Fatal(err)
	}
	leaf := &x509.Certificate{SerialNumber: big.NewInt(2), Subject: pkix.Name{CommonName: "broker"}, NotBefore: caT.NotBefore, NotAfter: caT.NotAfter,
		IPAddresses: []net.IP{net.IPv4(127, 0, 0, 1)}, KeyUsage: x509.KeyUsageDigitalSignature, ExtKeyUsage: []x509.ExtKeyUsage{x509.ExtKeyUsageServerAuth}}
	der, err := x509.CreateCertificate(rand.Reader, leaf, caT, &k.PublicKey, caKey)
	if err != nil {
		t.Fatal(err)
	}
	kd, err := x509.MarshalPKCS8PrivateKey(k)
	if err != nil {
		t.Fatal(err)
	}
	return write("ca.pem", "CERTIFICATE", caDER), write("cert.pem", "CERTIFICATE", der), write("key.pem", "PRIVATE KEY", kd)
}
