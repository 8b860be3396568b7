package main

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"

	"trueup/loop/feed"
	"trueup/profiles/userfile"
	"trueup/profiles/yamlfile"
)

// secretsFile lies beside the settings of the machine. What a feed needs to be
// let in stands here and not in a rig, which is copied and mailed.
type secretsFile struct {
	Feeds   map[string]secretFile `yaml:"feeds" items:"1 256" help:"by the name of the feed"`
	Site    secretFile            `yaml:"site" help:"for the broker of the site, the setting site_broker"`
	History struct {
		User     string `yaml:"user"`
		Password string `yaml:"password"`
	} `yaml:"history" help:"for the database of the setting history_database"`
}

type secretFile struct {
	Key        string `yaml:"key" help:"http: at least 16 characters"`
	User       string `yaml:"user" help:"mqtt"`
	Password   string `yaml:"password" help:"mqtt"`
	CA         string `yaml:"ca" help:"mqtts: PEM file of the authority"`
	Cert       string `yaml:"cert" help:"mqtts: PEM file of our certificate"`
	CertKey    string `yaml:"cert_key" help:"mqtts: PEM file of its key"`
	ClientID   string `yaml:"client_id" help:"mqtt"`
	StateTopic string `yaml:"state_topic" help:"mqtt: holds online or offline"`
}

func (s secretFile) secret() feed.Secret {
	return feed.Secret{Key: s.Key, User: s.User, Password: s.Password, CAFile: s.CA, CertFile: s.Cert, KeyFile: s.CertKey,
		ClientID: s.ClientID, StateTopic: s.StateTopic}
}

// loadSecrets reads what feeds need to be let in, by their names.
func loadSecrets() (map[string]feed.Secret, error) {
	in, err := readSecrets()
	if in == nil {
		return nil, err
	}
	out := map[string]feed.Secret{}
	for name, s := range in.Feeds {
		out[name] = s.secret()
	}
	return out, nil
}

// readSecrets reads secrets.yaml of the machine's settings folder; nil if it
// is not there. A file that others may read is refused.
func readSecrets() (*secretsFile, error) {
	dir, err := configDir()
	if err != nil {
		return nil, nil // no home: no secrets
	}
	path := filepath.Join(dir, "secrets.yaml")
	info, err := os.Stat(path)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	if runtime.GOOS != "windows" && info.Mode().Perm()&0o077 != 0 {
		return nil, fmt.Errorf("%s can be read by others (mode %o); run: chmod 600 %s", path, info.Mode().Perm(), path)
	}
	data, err := userfile.Read(path, userfile.Secrets)
	if err != nil {
		return nil, err
	}
	var in secretsFile
	if _, err := yamlfile.Decode(path, data, &in); err != nil {
		return nil, err
	}
	return &in, nil
}
