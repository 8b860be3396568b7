package solve

import (
	"trueup/loop/solve/estimate"
	"trueup/loop/solve/model"
	"trueup/loop/solve/plan"
)

// What a head is: see package model.
type (
	Spec       = model.Spec
	Kind       = model.Kind
	Channel    = model.Channel
	Drive      = model.Drive
	Emitter    = model.Emitter
	CCTSpec    = model.CCTSpec
	XYSpec     = model.XYSpec
	HueSatSpec = model.HueSatSpec
	DimmerSpec = model.DimmerSpec
)

// The kinds of mode.
const (
	Emitters = model.Emitters
	CCT      = model.CCT
	XY       = model.XY
	HueSat   = model.HueSat
)

// What is known of a head, and of the units of its profile: see package estimate.
type (
	Prior          = estimate.Prior
	PriorComponent = estimate.PriorComponent
	Batch          = estimate.Batch
)

// NewBatch starts the common knowledge of a profile from the profile alone.
func NewBatch(spec Spec) (*Batch, error) { return estimate.NewBatch(spec) }

// LittleToGain is the number of emitters up to which there is next to nothing to choose.
const LittleToGain = plan.LittleToGain

// Wish is what the freedom of four or more emitters is spent on.
type Wish = plan.Wish

// The wishes.
const (
	MostWhite  = plan.MostWhite
	MostOutput = plan.MostOutput
	LeastMoved = plan.LeastMoved
	HoldLevel  = plan.HoldLevel
	Alike      = plan.Alike
	Rendering  = plan.BestRendering
)

// What wishes by spectra choose by, and their price in light: see package plan.
type (
	Likeness = plan.Likeness
	Price    = plan.Price
	PriceRow = plan.PriceRow
)
