package main

import (
	"errors"
	"fmt"
	"io/fs"
	"net"
	"net/netip"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"github.com/rs/zerolog"
	"github.com/spf13/cobra"
	"github.com/spf13/pflag"
	"github.com/spf13/viper"

	"trueup/cmd/trueup/history"
	"trueup/loop/session/rig"
	"trueup/profiles/userfile"
	"trueup/profiles/yamlfile"
)

// settings belong to the machine and not to a show: defaults, then the config
// file, then TRUEUP_ variables of the environment, then flags. Nothing below
// the commands knows where a value came from.
type settings struct {
	LogLevel  string `mapstructure:"log_level"`
	Interface string `mapstructure:"interface"`
	IPv6      string `mapstructure:"ipv6"`
	Out       string `mapstructure:"out"`
	AllowExec bool   `mapstructure:"allow_exec"`
	Page      string `mapstructure:"page_address"`
	Broker    string `mapstructure:"site_broker"`
	Machine   string `mapstructure:"site_machine"`
	History   string `mapstructure:"history_database"`

	rows []settingRow
}

// settingRow is one setting in force and where its value came from.
type settingRow struct{ Key, Value, Origin, Help string }

// A machineSetting is one key: its default, and its flag on every command.
type machineSetting struct {
	key  string
	def  any
	help string
}

var machineSettings = []machineSetting{
	{"log_level", "warn", "how much is logged: trace, debug, info, warn, error or off"},
	{"interface", "", "network interface for multicast where a rig names none"},
	{"ipv6", "off", "multicast by IPv6 where a rig does not say: off, also (--ipv6 alone means this) or only"},
	{"out", "trueup-out", "folder that runs are kept in"},
	{"allow_exec", false, "let a rig's feed start a program on this machine"},
	{"page_address", "127.0.0.1:7780", "address and TCP port of the page; on any address but a loopback one a page must be paired first"},
	{"site_broker", "", "MQTT broker that hears how the runs of this machine go, such as mqtt://host:1883/trueup; empty: none"},
	{"site_machine", "", "name of this machine on the broker (default: its host name)"},
	{"history_database", "", "PostgreSQL that machines share their history in, such as postgres://host/trueup; empty: none"},
}

const (
	envPrefix = "TRUEUP_"
	envConfig = envPrefix + "CONFIG" // names the config file
)

// envOfTests are variables with our prefix that only tests read.
var envOfTests = []string{envPrefix + "CI", envPrefix + "LONG", envPrefix + "SOAK"}

func flagOf(key string) string { return strings.ReplaceAll(key, "_", "-") }
func envOf(key string) string  { return envPrefix + strings.ToUpper(key) }

// addSettingsFlags gives root, and so every command, a flag for each setting.
func addSettingsFlags(root *cobra.Command) {
	f := root.PersistentFlags()
	f.String("config", "", "settings of this machine (default: trueup/config.yaml in the user's config folder)")
	for _, s := range machineSettings {
		switch def := s.def.(type) {
		case string:
			f.String(flagOf(s.key), def, s.help)
		case bool:
			f.Bool(flagOf(s.key), def, s.help)
		}
	}
	f.Lookup("ipv6").NoOptDefVal = string(rig.IPv6Also)
}

// settingsAndRig are what most commands on a rig begin with.
func settingsAndRig(c *cobra.Command, path string) (*settings, *rig.Rig, error) {
	set, err := loadSettings(c.Flags())
	if err != nil {
		return nil, nil, &exitError{exitUsage, err}
	}
	r, err := rig.Load(path)
	return set, r, err
}

// loadSettings puts together what is in force for a command.
func loadSettings(flags *pflag.FlagSet) (*settings, error) {
	v := viper.New() // our own; nothing is shared with other packages
	v.AllowEmptyEnv(true)
	origin := map[string]string{}
	for _, s := range machineSettings {
		v.SetDefault(s.key, s.def)
		origin[s.key] = "default"
	}
	if err := checkEnv(os.Environ()); err != nil {
		return nil, err
	}
	path, must := configPath(flags)
	if err := mergeConfig(v, path, must, origin); err != nil {
		return nil, err
	}
	for _, s := range machineSettings {
		name := envOf(s.key)
		if err := v.BindEnv(s.key, name); err != nil {
			return nil, fmt.Errorf("%s: %w", name, err)
		}
		if _, ok := os.LookupEnv(name); ok {
			origin[s.key] = "environment " + name
		}
		if f := flags.Lookup(flagOf(s.key)); f != nil {
			if err := v.BindPFlag(s.key, f); err != nil {
				return nil, fmt.Errorf("flag --%s: %w", f.Name, err)
			}
			if f.Changed {
				origin[s.key] = "flag --" + f.Name
			}
		}
	}
	var set settings
	if err := v.UnmarshalExact(&set); err != nil {
		return nil, fmt.Errorf("settings: %w", err)
	}
	for _, s := range machineSettings {
		set.rows = append(set.rows, settingRow{s.key, fmt.Sprint(v.Get(s.key)), origin[s.key], s.help})
	}
	return &set, set.check(origin)
}

// checkEnv refuses a misspelt variable: it would silently do nothing.
func checkEnv(environ []string) error {
	var known []string
	for _, s := range machineSettings {
		known = append(known, envOf(s.key))
	}
	known = append(known, envConfig)
	for _, line := range environ {
		name, _, _ := strings.Cut(line, "=")
		if !strings.HasPrefix(name, envPrefix) || slices.Contains(known, name) || slices.Contains(envOfTests, name) {
			continue
		}
		hint := "there are " + strings.Join(known, ", ")
		if near := yamlfile.Nearest(name, known); near != "" {
			hint = "did you mean " + near + "?"
		}
		return fmt.Errorf("%s in the environment is no setting; %s", name, hint)
	}
	return nil
}

// configPath names the config file; must tells whether a person named it, so
// that it has to exist.
func configPath(flags *pflag.FlagSet) (path string, must bool) {
	if f := flags.Lookup("config"); f != nil && f.Changed {
		return f.Value.String(), true
	}
	if p := os.Getenv(envConfig); p != "" {
		return p, true
	}
	dir, err := configDir()
	if err != nil {
		return "", false // no home: defaults serve
	}
	return filepath.Join(dir, "config.yaml"), false
}

// configDir is where this machine keeps its settings and its identity.
func configDir() (string, error) {
	dir, err := os.UserConfigDir()
	if err != nil {
		return "", fmt.Errorf("no folder for settings: %w", err)
	}
	return filepath.Join(dir, "trueup"), nil
}

// mergeConfig reads the config file strictly and lays it over the defaults.
func mergeConfig(v *viper.Viper, path string, must bool, origin map[string]string) error {
	if path == "" {
		return nil
	}
	data, err := userfile.Read(path, userfile.Settings)
	if errors.Is(err, fs.ErrNotExist) && !must {
		return nil
	}
	if err != nil {
		return fmt.Errorf("settings: %w", err)
	}
	// The shape of the file; its keys are those of machineSettings.
	var file struct {
		LogLevel  *string `yaml:"log_level" one:"trace debug info warn error off"`
		Interface *string `yaml:"interface"`
		IPv6      *string `yaml:"ipv6" one:"off also only"`
		Out       *string `yaml:"out"`
		AllowExec *bool   `yaml:"allow_exec"`
		Page      *string `yaml:"page_address"`
		Broker    *string `yaml:"site_broker"`
		Machine   *string `yaml:"site_machine"`
		History   *string `yaml:"history_database"`
	}
	if _, err := yamlfile.Decode(path, data, &file); err != nil {
		return err
	}
	m := map[string]any{}
	put(m, "log_level", file.LogLevel)
	put(m, "interface", file.Interface)
	put(m, "ipv6", file.IPv6)
	put(m, "out", file.Out)
	put(m, "allow_exec", file.AllowExec)
	put(m, "page_address", file.Page)
	put(m, "site_broker", file.Broker)
	put(m, "site_machine", file.Machine)
	put(m, "history_database", file.History)
	for key := range m {
		origin[key] = "file " + path
	}
	return v.MergeConfigMap(m)
}

func put[T any](m map[string]any, key string, value *T) {
	if value != nil {
		m[key] = *value
	}
}

// check refuses values that would only fail later.
func (s *settings) check(origin map[string]string) error {
	if _, err := s.Level(); err != nil {
		return fmt.Errorf("log_level (%s): %w", origin["log_level"], err)
	}
	if _, err := netip.ParseAddrPort(s.Page); err != nil {
		return fmt.Errorf("page_address (%s): %q: want an address and a port, such as 127.0.0.1:7780, or 0.0.0.0:7780 for phones", origin["page_address"], s.Page)
	}
	if s.Out == "" {
		return fmt.Errorf("out (%s): a folder must be named", origin["out"])
	}
	if !slices.Contains([]rig.IPv6Use{rig.IPv6Off, rig.IPv6Also, rig.IPv6Only}, rig.IPv6Use(s.IPv6)) {
		return fmt.Errorf("ipv6 (%s): %q: want off, also or only", origin["ipv6"], s.IPv6)
	}
	if s.History != "" {
		if err := history.CheckAddress(s.History); err != nil {
			return fmt.Errorf("history_database (%s): %w", origin["history_database"], err)
		}
	}
	if s.Interface != "" {
		if _, err := net.InterfaceByName(s.Interface); err != nil {
			return fmt.Errorf("interface %q (%s): no such network interface here", s.Interface, origin["interface"])
		}
	}
	return nil
}

// Level is the log level in force.
func (s *settings) Level() (zerolog.Level, error) {
	if s.LogLevel == "off" {
		return zerolog.Disabled, nil
	}
	for _, l := range []zerolog.Level{zerolog.TraceLevel, zerolog.DebugLevel, zerolog.InfoLevel, zerolog.WarnLevel, zerolog.ErrorLevel} {
		if s.LogLevel == l.String() {
			return l, nil
		}
	}
	return zerolog.NoLevel, fmt.Errorf("%q is no log level: want trace, debug, info, warn, error or off", s.LogLevel)
}

// Rows lists every setting in force with its origin, in a fixed order.
func (s *settings) Rows() []settingRow { return slices.Clone(s.rows) }
