package osc

import (
	"strings"
	"testing"
)

// The OSC message of the specification's layout, byte by byte, and hostile
// ones.
func TestOSCPackets(t *testing.T) {
	good := "/reading\x00\x00\x00\x00,ffff\x00\x00\x00\x3e\x99\x99\x9a\x3e\xcc\xcc\xcd\x3f\xc0\x00\x00\x40\x00\x00\x00"
	ms, err := Parse([]byte(good))
	if err != nil || len(ms) != 1 || ms[0].String() != "/reading f:0.3 f:0.4 f:1.5 f:2" {
		t.Errorf("%v, %v", ms, err)
	}
	for _, bad := range []string{
		"", "/a", "/abc", "/ab\x00", "abc\x00,\x00\x00\x00", good[:32], good + "\x00\x00\x00\x00",
		"/ab\x00ffff", "/ab\x00,q\x00\x00", "/ab\x00,b\x00\x00\xff\xff\xff\xff", "/ab\x00,s\x00\x00abcd",
		"#bundle\x00", "#bundle\x00\x00\x00\x00\x00\x00\x00\x00\x01\x00\x00\x00\x05abcde\x00\x00\x00",
		"#bundle\x00\x00\x00\x00\x00\x00\x00\x00\x01\x00\x00\x00\x00", "/a\x00\x01,\x00\x00\x00",
	} {
		if ms, err := Parse([]byte(bad)); err == nil {
			t.Errorf("%q was read as %v", bad, ms)
		}
	}
	for _, c := range []struct {
		pattern, address string
		want             bool
	}{
		{"/a/*/c", "/a/b/c", true}, {"/a/*/c", "/a/b/b/c", false}, {"/a/*", "/a/b/c", false}, {"/a?c", "/abc", true}, {"/a?c", "/a/c", false},
		{"/[a-c]x", "/bx", true}, {"/[!a-c]x", "/bx", false}, {"/{left,right}/xy", "/right/xy", true}, {"/{left,right}/xy", "/up/xy", false},
		{"/m*r", "/meter", true}, {"/m*r", "/metre", false}, {"/a", "/a", true}, {"/a", "/ab", false}, {"/[a", "/a", false},
	} {
		if got := Match(c.pattern, c.address); got != c.want {
			t.Errorf("%s against %s: %v", c.pattern, c.address, got)
		}
	}
	// A pattern of many stars must not take for ever.
	Match("/"+strings.Repeat("*a", 40), "/"+strings.Repeat("a", 200)+"b")
}

// FuzzOSC: no packet makes the decoder fall over or grow without bound.
func FuzzOSC(f *testing.F) {
	f.Add([]byte("/a\x00\x00,f\x00\x00\x3e\x99\x99\x9a"))                                               // a plain message
	f.Add([]byte("#bundle\x00\x00\x00\x00\x00\x00\x00\x00\x01\x00\x00\x00\x08/a\x00\x00,\x00\x00\x00")) // a bundle
	f.Fuzz(func(t *testing.T, b []byte) {
		ms, err := Parse(b)
		if err == nil && len(ms) > len(b)/4 {
			t.Fatalf("%d messages in %d bytes", len(ms), len(b))
		}
	})
}
