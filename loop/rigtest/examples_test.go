package rigtest

import (
	"errors"
	"fmt"
	"io/fs"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"trueup/colorcalc"
	"trueup/loop/looptest"
	"trueup/loop/rehearse"
	"trueup/loop/session"
	"trueup/loop/session/core"
	"trueup/loop/session/rig"
	"trueup/loop/stage"
)

// Every lamp of the example rigs that can reach the reference lands, whichever units and whichever
// noise stand on the stage.
func TestEveryReachableLampOfTheExamplesLands(t *testing.T) {
	seeds := 1
	if os.Getenv("TRUEUP_LONG") != "" {
		seeds = 20
	}
	rigs, err := filepath.Glob("../../examples/*/rig.yaml")
	if err != nil || len(rigs) < 5 {
		t.Fatal("no example rigs found", err)
	}
	for _, path := range rigs {
		name := filepath.Base(filepath.Dir(path))
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			lamps, landed := 0, 0
			for seed := range uint64(seeds) {
				a, b := playExample(t, path, seed+*first)
				lamps, landed = lamps+a, landed+b
			}
			t.Logf("%d of %d reachable lamps landed", landed, lamps)
		})
	}
}

// playExample plays one example rig and counts the lamps that can be matched, and those of
// them that landed.
func playExample(t *testing.T, path string, seed uint64) (lamps, landed int) {
	t.Helper()
	f, err := stage.LoadFile(filepath.Join(filepath.Dir(path), "stage.yaml"))
	if errors.Is(err, fs.ErrNotExist) {
		f, err = &stage.File{}, nil
	}
	if err != nil {
		t.Fatal(err)
	}
	f.Seed = seed
	j, err := exampleJob(path)
	if err != nil {
		t.Fatal(err)
	}
	j.Stage = f
	hall, err := stage.Build(j.Rig, f)
	if err != nil {
		t.Fatal(err)
	}
	p, err := j.Play()
	if err == nil {
		err = p.Err
	}
	if err != nil {
		t.Errorf("seed %d: %v", seed, err)
		return
	}
	var ref colorcalc.UV
	final := map[string]*core.Outcome{}
	for _, e := range p.Entries {
		if e.Reference != nil {
			ref = e.Reference.UV
		}
		if e.Outcome != nil {
			final[e.Fixture] = e.Outcome
		}
	}
	for _, u := range j.Compiled.Units {
		o := final[u.Info.Name]
		l, ok := hall.Lamp(u.Info.Name)
		if o == nil || !ok {
			continue
		}
		off := within(&l, ref)
		switch {
		case o.Landed():
			lamps, landed = lamps+1, landed+1
		case off <= 0.0003:
			lamps++
			t.Errorf("seed %d: %s reaches the reference with a tolerance to spare and did not land: %s (%s)\n%s", seed, u.Info.Name, o.Result, o.Reason, story(p.Entries, u.Info.Name))
		default:
			t.Logf("seed %d: %s is %.4f short of reaching the reference with a tolerance to spare, and is %s (%s)", seed, u.Info.Name, off, o.Result, o.Reason)
		}
	}
	return lamps, landed
}

// exampleJob is the run that a person begins with this rig.
func exampleJob(path string) (j rehearse.Job, err error) {
	if j.Rig, err = rig.Load(path); err != nil {
		return j, err
	}
	if j.Compiled, err = session.Compile(j.Rig); err != nil {
		return j, err
	}
	j.Work = core.Match
	j.Plan, err = session.PlanFor(j.Rig)
	if session.ReadByHand(j.Rig) {
		j.Plan = session.Patient(j.Plan)
	}
	return j, err
}

// story is what the journal says of a lamp, a line for each entry.
func story(entries []session.Entry, lamp string) string {
	var b strings.Builder
	for _, e := range entries {
		if e.Fixture != lamp && (e.Fixture != "" || e.Note == "") {
			continue
		}
		fmt.Fprintf(&b, "    %s %s", e.Kind, e.Note)
		if e.Step != nil {
			fmt.Fprintf(&b, " %s %v %s", e.Step.Action, e.Step.Codes, e.Step.Words)
		}
		if e.Reading != nil {
			fmt.Fprintf(&b, " off %.4f (%.2f lux)", e.Reading.Delta, e.Reading.Lux)
		}
		if e.Account != nil {
			fmt.Fprintf(&b, " %s %s", e.Account.Verdict, e.Account.Words)
		}
		if e.Outcome != nil {
			fmt.Fprintf(&b, " %s %s", e.Outcome.Result, e.Outcome.Reason)
		}
		b.WriteByte('\n')
	}
	return b.String()
}

// spare is how far a colour may lie from the edge of what a lamp gives without being a case of doubt:
// one tolerance.
const spare = tolerance

// within is how near a lamp of the hall comes to a colour with a tolerance to spare: the worst of
// the colours around it.
func within(l *stage.Lamp, uv colorcalc.UV) (worst float64) {
	p := stage.NewPlant(l.Unit, l.Channels)
	p.Warm(0.5)
	if l.Channels[0].Role != stage.RoleEmitter {
		for k := range 8 {
			a := float64(k) * math.Pi / 4
			worst = max(worst, nearest(p, l.Channels, colorcalc.UV{U: uv.U + spare*math.Cos(a), V: uv.V + spare*math.Sin(a)}, 0))
		}
		return worst
	}
	var corners []colorcalc.UV
	for i, c := range l.Channels {
		if c.Role != stage.RoleEmitter {
			continue
		}
		one := make([]uint32, len(l.Channels))
		one[i] = c.Max
		for k, d := range l.Channels {
			if d.Role == stage.RoleDimmer {
				one[k] = d.Max
			}
		}
		if light := p.Would(one); light.Y > 0 {
			corners = append(corners, light.UV())
		}
	}
	if len(corners) < 3 {
		return 1
	}
	return max(0, spare-looptest.Inside(looptest.Hull(corners), uv))
}
