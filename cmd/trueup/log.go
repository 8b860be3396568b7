package main

import (
	"io"
	"os"
	"time"

	"github.com/rs/zerolog"
	"golang.org/x/term"
)

// logger writes to w at the level of the settings: for people in a terminal,
// as JSON lines elsewhere.
func (s *settings) logger(w io.Writer) zerolog.Logger {
	level, err := zerolog.ParseLevel(s.LogLevel)
	if err != nil || s.LogLevel == "off" {
		level = zerolog.Disabled
	}
	if f, ok := w.(*os.File); ok && term.IsTerminal(int(f.Fd())) {
		w = zerolog.ConsoleWriter{Out: w, TimeFormat: time.TimeOnly}
	}
	return zerolog.New(w).Level(level).With().Timestamp().Logger()
}
