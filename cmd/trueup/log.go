package main

import (
	"io"
	"time"

	"github.com/rs/zerolog"

	"trueup/profiles/oserror"
)

// What a line says of an error, of whichever room, is in the words that people are told.
func init() { zerolog.ErrorMarshalFunc = func(err error) any { return oserror.Text(err) } }

// logger writes to w at the level of the settings, one line for people each: it goes
// where everything else goes that people read.
func (s *settings) logger(w io.Writer) zerolog.Logger {
	level, err := zerolog.ParseLevel(s.LogLevel)
	if err != nil || s.LogLevel == "off" {
		level = zerolog.Disabled
	}
	return zerolog.New(zerolog.ConsoleWriter{Out: w, TimeFormat: time.TimeOnly, NoColor: true}).Level(level).With().Timestamp().Logger()
}
