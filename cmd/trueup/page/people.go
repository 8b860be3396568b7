package page

import (
	"crypto/hmac"
	"crypto/rand"
	"crypto/sha256"
	"encoding/base64"
	"encoding/binary"
	"encoding/hex"
	"errors"
	"fmt"
	"net/http"
	"sync"
	"time"
)

const (
	cookieName = "trueup"
	cookieLife = 16 * time.Hour // a working day
	keyLife    = 15 * time.Minute
	maxKeys    = 8
	maxPeople  = 64 // with a page open or lately so
)

// token is a name that nobody guesses: 128 random bits.
func token() string {
	var b [16]byte
	rand.Read(b[:]) // never fails (crypto/rand)
	return base64.RawURLEncoding.EncodeToString(b[:])
}

// people are those who have been let in, and who of them operates.
type people struct {
	secret []byte // signs cookies
	secure bool   // cookies go by TLS only
	board  *Board
	now    func() time.Time
	// presence is for how long nobody may be at a run's operating page; 0: for ever.
	presence time.Duration

	mu       sync.Mutex
	keys     map[string]time.Time // pairing keys that are good, until when
	seen     map[string]*visitor  // by id
	open     int                  // pages of all
	operator string               // id; "" is nobody
	given    visitor              // who gave the role up for nobody to have, and when; the zero visitor: nobody did
}

// visitor is a person at a page, or a few pages of one browser.
type visitor struct {
	Person
	pages int       // open streams
	last  time.Time // heard of
}

func newPeople(secret []byte, secure bool, b *Board) *people {
	return &people{secret: secret, secure: secure, board: b, now: time.Now, keys: map[string]time.Time{}, seen: map[string]*visitor{}}
}

// newKey makes a pairing key, good once and for keyLife.
func (p *people) newKey() string {
	p.mu.Lock()
	defer p.mu.Unlock()
	now := p.now()
	for k, until := range p.keys {
		if now.After(until) || len(p.keys) >= maxKeys {
			delete(p.keys, k)
		}
	}
	k := token()
	p.keys[k] = now.Add(keyLife)
	return k
}

// spend tells whether a pairing key is good, and makes it good no more. Keys of 128 random bits are compared by
// a map's hash: how long that takes tells nothing of use.
func (p *people) spend(key string) bool {
	p.mu.Lock()
	defer p.mu.Unlock()
	until, ok := p.keys[key]
	delete(p.keys, key)
	return ok && p.now().Before(until)
}

// cookie lets a browser in: an id and an end, signed.
func (p *people) cookie() *http.Cookie {
	var b [12 + 8]byte
	rand.Read(b[:12])
	binary.BigEndian.PutUint64(b[12:], uint64(p.now().Add(cookieLife).Unix()))
	return &http.Cookie{Name: cookieName, Value: base64.RawURLEncoding.EncodeToString(append(b[:], p.sign(b[:])...)), Path: "/",
		MaxAge: int(cookieLife.Seconds()), HttpOnly: true, Secure: p.secure, SameSite: http.SameSiteStrictMode}
}

func (p *people) sign(b []byte) []byte {
	m := hmac.New(sha256.New, p.secret)
	m.Write([]byte("trueup page 1\n"))
	m.Write(b)
	return m.Sum(nil)
}

// who reads the cookie of a request.
func (p *people) who(r *http.Request) (Person, bool) {
	c, err := r.Cookie(cookieName)
	if err != nil {
		return Person{}, false
	}
	b, err := base64.RawURLEncoding.DecodeString(c.Value)
	if err != nil || len(b) != 20+sha256.Size || !hmac.Equal(b[20:], p.sign(b[:20])) {
		return Person{}, false
	}
	if p.now().After(time.Unix(int64(binary.BigEndian.Uint64(b[12:20])), 0)) {
		return Person{}, false
	}
	sum := sha256.Sum256(b[:12]) // the id is shown to others, and must not be of use to them
	id := hex.EncodeToString(sum[:4])
	return Person{ID: id, Name: "page " + id[:3] + machineWords(r.UserAgent())}, true
}

// here notes that somebody was heard of. pages is how many streams were opened (1), closed (-1) or neither (0).
func (p *people) here(who Person, pages int) {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.note(who, pages)
}

// openPage takes a place for a stream of somebody's, if there is one.
func (p *people) openPage(who Person) bool {
	p.mu.Lock()
	defer p.mu.Unlock()
	if v := p.seen[who.ID]; p.open >= maxStreams || v != nil && v.pages >= streamsPerOne {
		return false
	}
	p.note(who, 1)
	return true
}

// note is here with the lock held.
func (p *people) note(who Person, pages int) {
	v := p.seen[who.ID]
	if v == nil {
		for id, x := range p.seen {
			if len(p.seen) >= maxPeople && x.pages == 0 && id != p.operator {
				delete(p.seen, id)
			}
		}
		v = &visitor{}
		p.seen[who.ID] = v
	}
	v.Person, v.last = who, p.now()
	v.pages += pages
	p.open += pages
	if n := p.open; pages != 0 {
		p.board.Top(func(t *Top) { t.Watching = n })
	}
}

// ErrLookOn refuses an action of somebody who does not operate.
var ErrLookOn = errors.New("you look on: take over first, or ask whoever operates to hand over")

// vacantAfter is how long an operator whose pages are closed still has the role.
const vacantAfter = 20 * time.Second

// vacant tells whether nobody operates. The lock is held.
func (p *people) vacant() bool {
	v := p.seen[p.operator]
	return v == nil || v.pages == 0 && p.now().Sub(v.last) > vacantAfter
}

// operates lets somebody act who operates, or who is the first to when nobody does.
func (p *people) operates(who Person) error {
	p.mu.Lock()
	defer p.mu.Unlock()
	switch {
	case p.operator == who.ID:
		return nil
	case p.vacant():
		p.give(who, fmt.Sprintf("%s operates", who.Name), false)
		return nil
	}
	return ErrLookOn
}

// take makes somebody the operator; from another it is a take-over, which all see.
func (p *people) take(who Person) {
	p.mu.Lock()
	defer p.mu.Unlock()
	switch {
	case p.operator == who.ID:
	case p.vacant():
		p.give(who, fmt.Sprintf("%s operates", who.Name), false)
	default:
		p.give(who, fmt.Sprintf("%s has taken over from %s", who.Name, p.seen[p.operator].Name), true)
	}
}

// handOver gives the role to another page, or to nobody.
func (p *people) handOver(from Person, to string) error {
	p.mu.Lock()
	defer p.mu.Unlock()
	v := p.seen[to]
	switch {
	case p.operator != from.ID:
		return ErrLookOn
	case to == "":
		text := fmt.Sprintf("%s looks on: nobody operates", from.Name)
		if p.presence > 0 && p.board.Phase().Runs() {
			text += fmt.Sprintf("; the run ends in %v if nobody takes over", p.presence)
		}
		p.give(Person{}, text, p.presence > 0)
		p.given = visitor{Person: from, last: p.now()}
	case v == nil:
		return fmt.Errorf("no page %q is open", to)
	default:
		p.give(v.Person, fmt.Sprintf("%s hands over to %s", from.Name, v.Name), false)
	}
	return nil
}

// give makes somebody the operator. The lock is held: of two who ask at once one gets the role.
func (p *people) give(who Person, text string, loud bool) {
	p.operator, p.given = who.ID, visitor{}
	switch v := p.seen[who.ID]; {
	case who.ID == "":
	case v == nil:
		p.seen[who.ID] = &visitor{Person: who, last: p.now()}
	default: // a page that was handed the role has as long to be heard of as any
		v.last = p.now()
	}
	p.board.Say(text, loud)
	p.board.Top(func(t *Top) {
		if t.Operator = nil; who.ID != "" {
			t.Operator = &who
		}
	})
}

// others are the people with a page open.
func (p *people) others() []Person {
	p.mu.Lock()
	defer p.mu.Unlock()
	all := []Person{}
	for _, v := range p.seen {
		if v.pages > 0 {
			all = append(all, v.Person)
		}
	}
	return all
}

// gone tells for how long nobody who operates has been heard of: the operator's pages, or anybody since who operated gave the role up.
// ok is false where nobody has operated yet.
func (p *people) gone() (name string, since time.Duration, ok bool) {
	p.mu.Lock()
	defer p.mu.Unlock()
	v := p.seen[p.operator]
	if p.operator == "" {
		v = &p.given
	}
	if v == nil || v.ID == "" {
		return "", 0, false
	}
	return v.Name, p.now().Sub(v.last), true
}
