// Package report turns the journal of a run into what is handed over: the
// report page, the settings sheet and the colour diagrams.
package report
