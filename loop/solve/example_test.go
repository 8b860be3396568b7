package solve_test

import (
	"fmt"
	"time"

	"trueup/colorcalc"
	"trueup/loop/solve"
	"trueup/profiles/law"
)

// A head with four emitters is landed on a warm white. The lamp is made up: its
// red is weaker and its green stronger than the profile says, and it has a little
// background. A real one is driven and read by package loop.
func ExampleMatch() {
	red, green := colorcalc.XY{X: 0.69, Y: 0.305}.UV(), colorcalc.XY{X: 0.19, Y: 0.71}.UV()
	blue, white := colorcalc.XY{X: 0.145, Y: 0.05}.UV(), colorcalc.XY{X: 0.36, Y: 0.365}.UV()
	spec := solve.Spec{Name: "four emitters", Kind: solve.Emitters, Curve: law.Curve{Law: law.Linear},
		Emitters: []solve.Emitter{{Name: "red", UV: red, Flux: 90}, {Name: "green", UV: green, Flux: 160},
			{Name: "blue", UV: blue, Flux: 30}, {Name: "white", UV: white, Flux: 260, White: true}}}
	for _, e := range spec.Emitters {
		spec.Channels = append(spec.Channels, solve.Channel{Name: e.Name, Max: 65535, Hi: 65535})
	}
	flux := []float64{80, 175, 30, 250}
	lamp := func(codes solve.Drive) colorcalc.XYZ {
		light := colorcalc.UV{U: 0.22, V: 0.5}.XYZ(1)
		for i, e := range spec.Emitters {
			light = light.Add(e.UV.XYZ(flux[i] * float64(codes[i]) / 65535))
		}
		return light
	}

	target := solve.Target{UV: colorcalc.XY{X: 0.42, Y: 0.40}.UV(), Tol: 0.0010}
	options := solve.DefaultOptions()
	options.SigmaUV = 0.0002 // a quiet meter
	m, err := solve.New(spec, target, nil, options)
	if err != nil {
		fmt.Println(err)
		return
	}
	var now solve.Drive
	clock := time.Duration(0)
	for {
		d := m.Next(clock)
		if d.Action == solve.Done {
			fmt.Printf("%s, truly %.4f off\n", d.Outcome, lamp(now).UV().Dist(target.UV))
			return
		}
		if d.Action == solve.Move {
			now = d.Drive
		}
		clock += time.Second
		light := lamp(now)
		a := m.Observe(solve.Reading{UV: light.UV(), Y: light.Y, HasY: true, At: clock, Drive: now})
		fmt.Printf("%s: read %.4f off, %.0f %% sure to be within tolerance\n", d.Action, a.Error, 100*a.P)
	}
	// Output:
	// move: read 0.0082 off, 0 % sure to be within tolerance
	// move: read 0.0002 off, 100 % sure to be within tolerance
	// landed, truly 0.0002 off
}
