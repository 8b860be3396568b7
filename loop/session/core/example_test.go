package core_test

import (
	"fmt"
	"strings"
	"time"

	"trueup/colorcalc"
	"trueup/loop/session/core"
	"trueup/loop/solve"
)

// A run is stepped by hand: what happens goes in, what to do comes out.
func Example() {
	spec := solve.Spec{Name: "wash", Kind: solve.Emitters}
	unit := core.Unit{Info: core.FixtureInfo{Name: "wash", Probe: "mark"}, Level: 0.5, Headroom: 1, Settle: 100 * time.Millisecond, SettleKnown: true}
	for i, uv := range []colorcalc.UV{{U: 0.50, V: 0.52}, {U: 0.08, V: 0.57}, {U: 0.17, V: 0.13}} {
		name := []string{"red", "green", "blue"}[i]
		spec.Channels = append(spec.Channels, solve.Channel{Name: name, Max: 255, Hi: 255})
		spec.Emitters = append(spec.Emitters, solve.Emitter{Name: name, UV: uv, Flux: []float64{120, 260, 40}[i]})
		unit.Dark = append(unit.Dark, core.AxisCode{Axis: i})
		unit.Rest = append(unit.Rest, 0)
	}
	unit.Spec = spec
	cfg := core.Config{Work: core.Survey, Plan: core.DefaultPlan(), Units: []core.Unit{unit}}
	cfg.Plan.Target = core.Target{Text: "4300 K", UV: colorcalc.XY{X: 0.367, Y: 0.367}.UV()}
	cfg.Plan.KeepLit = true // no background to read
	run, err := core.New(cfg)
	if err != nil {
		fmt.Println(err)
		return
	}
	step := func(e core.Event) core.Do {
		do := run.Step(e)
		fmt.Println(e.Kind)
		for _, n := range do.Entries {
			fmt.Println(strings.TrimRight(fmt.Sprintf("  journal: %s %s", n.Kind, n.Fixture), " "))
		}
		for _, w := range do.Wishes {
			fmt.Println("  wish for head", w.Head)
		}
		for _, a := range do.Asks {
			fmt.Println("  ask probe", a.Probe, "after", a.After)
		}
		if do.Done {
			fmt.Println("  done")
		}
		return do
	}
	do := step(core.Event{Kind: core.Begin})
	do = step(core.Event{Kind: core.Arrived, At: 2 * time.Second, When: 2 * time.Second, Head: 0, Sent: do.Wishes[0].Codes})
	light := core.Reading{At: 3 * time.Second, Probe: "mark", UV: colorcalc.UV{U: 0.22, V: 0.49}, Y: 180, HasY: true}
	step(core.Event{Kind: core.Read, At: 3 * time.Second, Ask: do.Asks[0].ID, Reading: &light})
	// Output:
	// begin
	//   journal: background
	//   journal: reference
	//   journal: step wash
	//   wish for head 0
	// arrived
	//   journal: sent wash
	//   ask probe mark after 2.1s
	// read
	//   journal: found wash
	//   journal: account wash
	//   journal: end
	//   done
}
