package main

import (
	"bytes"
	"encoding/json"
	"errors"
	"io"
	"slices"
	"strings"
	"syscall"
	"testing"

	"github.com/charmbracelet/x/ansi"
)

// onTerminal is what a command writes to a terminal of so many columns; faults beside it if that is asked for.
func onTerminal(t *testing.T, columns uint16, faults bool, args ...string) string {
	t.Helper()
	master, slave := openPTY(t)
	resize(t, slave, columns)
	ended := make(chan error, 1)
	var b bytes.Buffer
	go func() {
		_, err := io.Copy(&b, master)
		ended <- err
	}()
	beside := io.Writer(slave)
	if !faults {
		beside = io.Discard
	}
	run(args, nil, slave, beside)
	slave.Close()
	if err := <-ended; err != nil && !errors.Is(err, syscall.EIO) { // so ends a terminal that nobody writes to any more
		t.Fatal(err)
	}
	return strings.ReplaceAll(b.String(), "\r\n", "\n")
}

// At a terminal that is 60 columns wide nothing is broken inside a word, what can be broken fits, commands to copy are whole, and
// nothing is lost beside what a file would get.
func TestANarrowTerminalShowsWholeWords(t *testing.T) {
	t.Chdir(t.TempDir())
	t.Setenv("XDG_CONFIG_HOME", t.TempDir())
	const columns = 60
	for _, c := range []struct {
		args []string
		copy string // a command that must stand in one piece
	}{
		{[]string{"rig", "copy-example", "beside-a-desk"}, "trueup stage beside-a-desk/rig.yaml --desk"},
		{[]string{"check", "--no-feed", "beside-a-desk/rig.yaml"}, ""},
		{[]string{"check", "--help"}, ""},
		{[]string{"match", "--help"}, "trueup resume"},
		{[]string{"color", "--help"}, "trueup color --spectrum panel.csv --against house.csv --camera camera.csv"},
		{[]string{"--help"}, ""},
		{[]string{"check", "gone.yaml"}, "trueup rig copy-example"},
		{[]string{"match"}, "'trueup match --help'"},
		{[]string{"color", "5600K", "3200 K"}, ""},
		{[]string{"gel", "--from", "5600K", "--to", "3200K"}, ""},
	} {
		shown := onTerminal(t, columns, true, c.args...)
		for l := range strings.Lines(shown) {
			l = strings.TrimRight(l, "\n")
			if ansi.StringWidth(l) >= columns && strings.Contains(strings.TrimSpace(l), " ") && !strings.Contains(l, "trueup ") {
				t.Errorf("%v: a line is as wide as the terminal: %q", c.args, l)
			}
		}
		if !strings.Contains(shown, c.copy) {
			t.Errorf("%v: %q is not in one piece in\n%s", c.args, c.copy, shown)
		}
		if c.args[0] == "rig" {
			continue // is there now
		}
		var piped bytes.Buffer
		run(c.args, nil, &piped, &piped)
		untilOthers := func(s string) string { before, _, _ := strings.Cut(s, "heard on universe"); return before }
		if got, want := strings.Fields(untilOthers(shown)), strings.Fields(untilOthers(piped.String())); !slices.Equal(got, want) {
			t.Errorf("%v: a terminal shows other words:\n%s\nthan a file gets:\n%s", c.args, shown, piped.String())
		}
	}
}

// What another program reads is the same on a terminal.
func TestDataIsNotFolded(t *testing.T) {
	t.Chdir(t.TempDir())
	t.Setenv("XDG_CONFIG_HOME", t.TempDir())
	if code := run([]string{"rig", "copy-example", "beside-a-desk"}, nil, io.Discard, io.Discard); code != exitLanded {
		t.Fatal("no rig to try with")
	}
	for _, args := range [][]string{
		{"rig", "schema"}, {"profile", "schema"}, {"feed", "schema"}, {"gel", "schema"}, {"stage", "--schema"},
		{"color", "--json", "5600K", "3200K"}, {"check", "--json", "--no-feed", "beside-a-desk/rig.yaml"},
	} {
		if text := onTerminal(t, 30, false, args...); !json.Valid([]byte(text)) {
			t.Errorf("%v: no JSON:\n%s", args, text)
		}
	}
}
