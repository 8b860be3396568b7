package main

import (
	"io"
	"time"

	"github.com/rs/zerolog"
)

// logger writes to w at the level of the settings: for people in a terminal,
// as JSON lines elsewhere.
func (s *settings) logger(w io.Writer) zerolog.Logger {
	level, err := zerolog.ParseLevel(s.LogLevel)
	if err != nil || s.LogLevel == "off" {
		level = zerolog.Disabled
	}
	if isTerminal(w) {
		w = zerolog.ConsoleWriter{Out: w, TimeFormat: time.TimeOnly, NoColor: true}
	}
	return zerolog.New(w).Level(level).With().Timestamp().Logger()
}
