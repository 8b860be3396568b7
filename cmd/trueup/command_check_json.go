package main

import (
	"errors"
	"io"

	"trueup/cmd/trueup/report"
	"trueup/loop/session/rig"
	"trueup/profiles/oserror"
	"trueup/profiles/yamlfile"
)

// checkedJSON is what check found, for other programs.
type checkedJSON struct {
	Rig      string        `json:"rig"`
	File     string        `json:"file"`
	OK       bool          `json:"ok"`
	Faults   []faultJSON   `json:"faults"`
	Notes    []string      `json:"notes"` // what to mind, and is no fault: fixtures that the target is likely beyond, probes that were never aligned
	Patch    []patchJSON   `json:"patch"`
	Limits   []string      `json:"limits"`
	Settings []settingJSON `json:"settings"`
}

// faultJSON is one thing wrong; without a line it is about the whole file, without a file about the world.
type faultJSON struct {
	File    string `json:"file,omitempty"`
	Line    int    `json:"line,omitempty"`
	Column  int    `json:"column,omitempty"`
	Message string `json:"message"`
	Hint    string `json:"hint,omitempty"`
}

type patchJSON struct {
	Fixture string `json:"fixture"`
	Slots   string `json:"slots"` // as on the patch sheet
	Profile string `json:"profile"`
	Mode    string `json:"mode,omitempty"`
	Heads   int    `json:"heads"`
	Desk    string `json:"desk_channel,omitempty"`
	Probe   string `json:"probe,omitempty"`
	Grid    string `json:"grid,omitempty"` // column, row
	Line    int    `json:"line"`
}

type settingJSON struct {
	Key    string `json:"key"`
	Value  string `json:"value"`
	Origin string `json:"origin"`
}

// writeChecked writes what was found.
func writeChecked(w io.Writer, path string, set *settings, found looked) error {
	out := checkedJSON{File: path, OK: len(found.faults) == 0, Faults: faultsOf(errors.Join(found.faults...)), Notes: append([]string{}, found.notes...), Patch: []patchJSON{}, Limits: []string{}}
	if r := found.rig; r != nil {
		out.Rig, out.Limits = r.Name, r.Safety.Describe()
		for _, p := range rig.PatchSheet(r) {
			out.Patch = append(out.Patch, patchJSON{p.Fixture, p.Slots, p.Profile, p.Mode, p.Heads, p.Desk, p.Probe, p.Grid, p.Line})
		}
	}
	for _, s := range set.rows {
		out.Settings = append(out.Settings, settingJSON{s.Key, s.Value, s.Origin})
	}
	return report.JSON(w, out)
}

// faultsOf takes errors apart as showError does.
func faultsOf(err error) []faultJSON {
	out := []faultJSON{}
	if err == nil {
		return out
	}
	if joined, ok := err.(interface{ Unwrap() []error }); ok {
		for _, e := range joined.Unwrap() {
			out = append(out, faultsOf(e)...)
		}
		return out
	}
	var located yamlfile.Errors
	if !errors.As(err, &located) {
		return append(out, faultJSON{Message: oserror.Text(err)})
	}
	for _, e := range located {
		out = append(out, faultJSON{e.File, e.Line, e.Col, e.Msg, e.Hint})
	}
	return out
}
