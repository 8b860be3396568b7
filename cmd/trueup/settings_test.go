package main

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"
)

// flagsOf parses a command line as a subcommand of the program would.
func flagsOf(t *testing.T, args ...string) *pflag.FlagSet {
	t.Helper()
	root := &cobra.Command{Use: "x"}
	addSettingsFlags(root)
	sub := &cobra.Command{Use: "sub", Run: func(*cobra.Command, []string) {}}
	root.AddCommand(sub)
	root.SetArgs(append([]string{"sub"}, args...))
	if err := root.Execute(); err != nil {
		t.Fatal(err)
	}
	return sub.Flags()
}

// quietMachine is a machine without settings of its own; it returns the path
// of its config file.
func quietMachine(t *testing.T) string {
	home := t.TempDir()
	t.Setenv("HOME", home)
	t.Setenv("XDG_CONFIG_HOME", filepath.Join(home, "config"))
	t.Setenv("AppData", filepath.Join(home, "config"))
	dir, err := configDir()
	if err != nil {
		t.Fatal(err)
	}
	if err := os.MkdirAll(dir, 0o755); err != nil {
		t.Fatal(err)
	}
	return filepath.Join(dir, "config.yaml")
}

// A flag beats the environment, which beats the file, which beats the default;
// and every value in force says which it was.
func TestSettingsSayWhereTheyCameFrom(t *testing.T) {
	path := quietMachine(t)
	write := func(text string) {
		if err := os.WriteFile(path, []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	check := func(args []string, key, value, origin string) {
		t.Helper()
		s, err := loadSettings(flagsOf(t, args...))
		if err != nil {
			t.Fatal(err)
		}
		for _, r := range s.Rows() {
			if r.Key == key {
				if r.Value != value || r.Origin != origin {
					t.Errorf("%s is %q from %q, want %q from %q", key, r.Value, r.Origin, value, origin)
				}
				return
			}
		}
		t.Errorf("no row for %s", key)
	}
	check(nil, "log_level", "warn", "default")
	check(nil, "allow_exec", "false", "default")
	write("log_level: info\nallow_exec: true\n")
	check(nil, "log_level", "info", "file "+path)
	check(nil, "allow_exec", "true", "file "+path)
	check(nil, "out", "trueup-out", "default")
	t.Setenv("TRUEUP_LOG_LEVEL", "debug")
	t.Setenv("TRUEUP_ALLOW_EXEC", "false")
	check(nil, "log_level", "debug", "environment TRUEUP_LOG_LEVEL")
	check(nil, "allow_exec", "false", "environment TRUEUP_ALLOW_EXEC")
	check([]string{"--log-level", "error"}, "log_level", "error", "flag --log-level")
	// The same value as the default, but said by a person: it counts.
	check([]string{"--log-level=warn"}, "log_level", "warn", "flag --log-level")
}

func TestSettingsThatCanNotBeMeantAreRefused(t *testing.T) {
	path := quietMachine(t)
	for _, c := range []struct{ name, file, env, value, flag, gist string }{
		{"unknown key", "log_levl: info\n", "", "", "", `did you mean "log_level"?`},
		{"wrong word in the file", "log_level: loud\n", "", "", "", path + ":1:12"},
		{"wrong type", "allow_exec: maybe\n", "", "", "", "want true or false"},
		{"a variable misspelt", "", "TRUEUP_LOGLEVEL", "info", "", "did you mean TRUEUP_LOG_LEVEL?"},
		{"a variable of no setting", "", "TRUEUP_XYZZY", "1", "", "is no setting"},
		{"wrong word in the environment", "", "TRUEUP_LOG_LEVEL", "loud", "", "log_level (environment TRUEUP_LOG_LEVEL)"},
		{"wrong bool in the environment", "", "TRUEUP_ALLOW_EXEC", "maybe", "", "allow_exec"},
		{"empty folder", "", "TRUEUP_OUT", "", "", "out (environment TRUEUP_OUT)"},
		{"no such interface", "interface: nosuch9\n", "", "", "", "no such network interface"},
		{"named file missing", "", "", "", "--config=nowhere.yaml", "nowhere.yaml"},
	} {
		t.Run(c.name, func(t *testing.T) {
			os.Remove(path)
			if c.file != "" {
				if err := os.WriteFile(path, []byte(c.file), 0o644); err != nil {
					t.Fatal(err)
				}
			}
			if c.env != "" {
				t.Setenv(c.env, c.value)
			}
			var args []string
			if c.flag != "" {
				args = append(args, c.flag)
			}
			_, err := loadSettings(flagsOf(t, args...))
			if err == nil || !strings.Contains(err.Error(), c.gist) {
				t.Errorf("error %v, want %q in it", err, c.gist)
			}
		})
	}
}

// The reference file shows every setting at its default.
func TestReferenceSettings(t *testing.T) {
	quietMachine(t)
	path := filepath.Join(moduleRoot(t), "examples", "reference-settings.yaml")
	t.Setenv("TRUEUP_CONFIG", path)
	got, err := loadSettings(flagsOf(t))
	if err != nil {
		t.Fatal(err)
	}
	os.Unsetenv("TRUEUP_CONFIG")
	want, err := loadSettings(flagsOf(t))
	if err != nil {
		t.Fatal(err)
	}
	text, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	for i, r := range got.Rows() {
		if d := want.Rows()[i]; r.Key != d.Key || r.Value != d.Value || d.Origin != "default" {
			t.Errorf("the reference has %s: %s, the default is %s", r.Key, r.Value, d.Value)
		}
		if !strings.Contains(string(text), r.Key+":") {
			t.Errorf("%s is missing", r.Key)
		}
	}
}
