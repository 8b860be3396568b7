package main

import (
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/spf13/cobra"

	"trueup/safety"
)

func readme(t *testing.T) string {
	t.Helper()
	text, err := os.ReadFile(filepath.Join(moduleRoot(t), "README.md"))
	if err != nil {
		t.Fatal(err)
	}
	return string(text)
}

// leaves are the commands that do something, by the words after "trueup".
func leaves(c *cobra.Command, path string, into map[string]*cobra.Command) {
	for _, sub := range c.Commands() {
		if sub.Hidden {
			continue
		}
		name := strings.TrimSpace(path + " " + sub.Name())
		if sub.HasSubCommands() {
			leaves(sub, name, into)
		}
		if sub.Runnable() {
			into[name] = sub
		}
	}
}

// README's table has every command, and no code in README has a flag that its
// command does not take.
func TestReadmeKnowsTheCommandLine(t *testing.T) {
	all := map[string]*cobra.Command{}
	leaves(newRoot(), "", all)
	text := readme(t)
	_, table, _ := strings.Cut(text, "## Commands")
	table, _, _ = strings.Cut(table, "| exit code")
	for name, c := range all {
		if !c.HasSubCommands() && !strings.Contains(table, "`"+name+"`") {
			t.Errorf("README's table of commands does not have %s", name)
		}
	}
	flags := 0
	for _, code := range regexp.MustCompile("(?m)`([^`\n]+)`|^    (trueup .*)$").FindAllStringSubmatch(text, -1) {
		line, _, _ := strings.Cut(strings.TrimPrefix(code[1]+code[2], "trueup "), " #")
		words := strings.Fields(line)
		var c *cobra.Command
		for n := min(2, len(words)); n > 0 && c == nil; n-- {
			c = all[strings.Join(words[:n], " ")]
		}
		for _, w := range words {
			if name, ok := strings.CutPrefix(w, "--"); ok && c != nil {
				flags++
				name, _, _ = strings.Cut(name, "=")
				if c.Flags().Lookup(name) == nil && c.InheritedFlags().Lookup(name) == nil && name != "help" {
					t.Errorf("README: `%s`: %s has no flag --%s", line, c.CommandPath(), name)
				}
			}
		}
	}
	if flags < 10 {
		t.Errorf("only %d flags found in README", flags)
	}
}

// README's table of limits says what holds where a rig says nothing.
func TestReadmeLimitsAreTheDefaults(t *testing.T) {
	l := safety.DefaultLimits()
	want := []string{
		fmt.Sprintf("| rise and fall of light | %g %% of full per second |", 100*l.Rise),
		fmt.Sprintf("| level | %g %% of full:", 100*l.LevelCap),
		fmt.Sprintf("| flashes | at most %d in any second", safety.MaxSwings/2),
		fmt.Sprintf("| UV, violet and unknown emitters | %g %% of their level |", 100*l.UVCap),
		fmt.Sprintf("| at its cap | at most %g min", l.MaxFullTime.Minutes()),
		fmt.Sprintf("| large steps of one fixture | at least %g s apart |", l.Pace.Seconds()),
		fmt.Sprintf("| colour parameters | their whole range in %g s |", 1/l.Colour),
		fmt.Sprintf("| a run that hangs | hands the fixtures back after %g s |", l.Watchdog.Seconds()),
		fmt.Sprintf("after %g s the fixtures are handed back", safety.LostAfter.Seconds()),
	}
	if l.Rise != l.Fall {
		t.Error("README says one figure for rise and fall")
	}
	text := readme(t)
	for _, w := range want {
		if !strings.Contains(text, w) {
			t.Errorf("README does not say %q", w)
		}
	}
}
