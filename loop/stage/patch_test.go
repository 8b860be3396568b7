package stage

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"trueup/colorcalc"
	"trueup/dmx"
	"trueup/loop/session/rig"
	"trueup/profiles"
)

const washProfile = `profile: Test Wash
modes:
  - mode: rgbw
    kind: emitters
    slots: 8
    curve: square
    dimmer: {slots: [1], curve: linear}
    emitters:
      - {name: red, slots: [2]}
      - {name: green, slots: [3]}
      - {name: blue, slots: [4]}
      - {name: white, slots: [5, 6], kelvin: 5600}
    set:
      - {name: strobe, slots: [7], to: 0, why: off}
    never_touch:
      - {name: reset, slots: [8], safe: 0}
`

const panelProfile = `profile: Test Panel
modes:
  - mode: white
    kind: cct
    slots: 5
    dimmer: {slots: [1], curve: linear}
    cct: {slots: [2, 3], kelvin: [10000, 2000], scale: mired}
    tint: {slots: [4, 5], duv: [0.015, -0.015]}
`

// small is a rig of one wash at 1/1 and one panel at 2/101.
func small(t *testing.T) *rig.Rig {
	t.Helper()
	r := &rig.Rig{Name: "small"}
	for i, text := range []string{washProfile, panelProfile} {
		p, err := profiles.Parse("p.yaml", []byte(text))
		if err != nil {
			t.Fatal(err)
		}
		r.Fixtures = append(r.Fixtures, rig.Fixture{Name: []string{"wash", "panel"}[i], Profile: p, Mode: &p.Modes[0], Heads: 1,
			Address: []dmx.Address{{Universe: 1, Slot: 1}, {Universe: 2, Slot: 101}}[i]})
	}
	return r
}

func still(t *testing.T, r *rig.Rig, text string) *Hall {
	t.Helper()
	f, err := ParseFile("stage.yaml", []byte("seed: 3\n"+text))
	if err != nil {
		t.Fatal(err)
	}
	h, err := Build(r, f)
	if err != nil {
		t.Fatal(err)
	}
	return h
}

func lit(h *Hall, u dmx.Universe, slots []byte, lamp int) colorcalc.XYZ {
	h.Levels(u, slots)
	h.Advance(2 * time.Second)
	return h.Truths()[lamp].XYZ
}

// The slots reach the physics as the profile says: coarse before fine, the
// dimmer over all, and each emitter where the manual has it.
func TestSlotsReachTheRightEmitters(t *testing.T) {
	none := "lamps:\n  - {profile: Test Wash, spread: 0, kind_spread: 0, heat: 0, cut_off: 0}\n"
	for i, name := range []string{"red", "green", "blue", "white"} {
		slots := make([]byte, 8)
		slots[0], slots[1+i] = 255, 255
		if name == "white" {
			slots[5] = 255
		}
		e, _ := Nominal(name)
		got := lit(still(t, small(t), none), 1, slots, 0)
		if d := got.UV().Dist(e.Light().UV()); d > 0.012 || got.Y < 10 { // a lamp stands a per-emitter exponent apart, never another colour
			t.Errorf("%s: %v is %.4f from its emitter", name, got, d)
		}
		slots[0] = 51 // a fifth, by a linear dimmer
		if dim := lit(still(t, small(t), none), 1, slots, 0); dim.Y/got.Y < 0.195 || dim.Y/got.Y > 0.205 {
			t.Errorf("%s: dimmer at a fifth gives %.3f", name, dim.Y/got.Y)
		}
	}
	full := lit(still(t, small(t), none), 1, []byte{255, 0, 0, 0, 255, 255, 0, 0}, 0).Y
	if half := lit(still(t, small(t), none), 1, []byte{255, 0, 0, 0, 128, 0, 0, 0}, 0).Y; half/full < 0.22 || half/full > 0.29 {
		t.Errorf("white at half by a square law gives %.3f, want about a quarter", half/full)
	}
}

// A reset or strobe slot that stands wrong keeps the lamp dark.
func TestPinnedSlotsGuardTheLight(t *testing.T) {
	for _, slots := range [][]byte{{255, 255, 255, 255, 255, 255, 90, 0}, {255, 255, 255, 255, 255, 255, 0, 1}} {
		if y := lit(still(t, small(t), ""), 1, slots, 0).Y; y != 0 {
			t.Errorf("%v: %g lux", slots, y)
		}
	}
}

// A panel that counts mired from cold to warm, and tint from green to magenta,
// is read that way round.
func TestPanelScalesAreReadTheirWayRound(t *testing.T) {
	at := func(cct, tint byte) (colorcalc.Kelvin, colorcalc.Duv) {
		slots := make([]byte, 105)
		slots[100], slots[101], slots[103] = 255, cct, tint
		c := lit(still(t, small(t), "lamps:\n  - {profile: Test Panel, spread: 0, kind_spread: 0}\n"), 2, slots, 1)
		k, d, err := colorcalc.CCT(c.XY())
		if err != nil {
			t.Fatal(err)
		}
		return k, d
	}
	k, _ := at(128, 128)
	if k < 3100 || k > 3600 { // the middle of 100 and 500 mired is 300
		t.Errorf("middle: %.0f K, want about 3333", k)
	}
	if cold, _ := at(40, 128); cold < k {
		t.Errorf("a low slot gives %.0f K, the middle %.0f", cold, k)
	}
	if _, d := at(128, 40); d < 0.004 {
		t.Errorf("a low tint slot gives Duv %+.4f, want green", d)
	}
}

func TestStageFileThatFitsNoRigIsRefused(t *testing.T) {
	f, err := ParseFile("stage.yaml", []byte("lamps:\n  - {profile: Test Wesh}\n  - {fixture: panel, swapped: [red, green]}\n  - {profile: Test Wash, emitters: [{name: amber}]}\n  - {fixture: wash, weak: [{emitter: teal}]}\nprobes: [{probe: nowhere}]\n"))
	if err != nil {
		t.Fatal(err)
	}
	_, err = Build(small(t), f)
	for _, want := range []string{"stage.yaml:2:", "did you mean \"Test Wash\"", "no emitter called \"amber\"", "no emitter called \"teal\"", "no probe called \"nowhere\""} {
		if err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%v\nwant %s", err, want)
		}
	}
}

// The faults of a stage file do what they say.
func TestFaultsCanBeSwitchedOn(t *testing.T) {
	slots := []byte{255, 255, 0, 0, 0, 0, 0, 0}
	red := lit(still(t, small(t), ""), 1, slots, 0).XY()
	swapped := lit(still(t, small(t), "lamps:\n  - {fixture: wash, swapped: [red, blue]}\n"), 1, slots, 0).XY()
	if red.X < 0.6 || swapped.X > 0.2 {
		t.Errorf("red %v, with red and blue exchanged %v", red, swapped)
	}
	if y := lit(still(t, small(t), "lamps:\n  - {fixture: wash, dead: true}\n"), 1, slots, 0).Y; y != 0 {
		t.Errorf("a dead lamp gives %g lux", y)
	}
}

// Every example rig can stand on the stage, with the stage file beside it.
func TestExampleRigsStand(t *testing.T) {
	rigs, err := filepath.Glob("../../examples/*/rig.yaml")
	if err != nil || len(rigs) == 0 {
		t.Fatal("no example rigs found", err)
	}
	for _, path := range rigs {
		r, err := rig.Load(path)
		if err != nil {
			t.Error(err)
			continue
		}
		var f *File
		if at := filepath.Join(filepath.Dir(path), "stage.yaml"); exists(at) {
			if f, err = LoadFile(at); err != nil {
				t.Error(err)
				continue
			}
		}
		h, err := Build(r, f)
		if err != nil {
			t.Error(err)
			continue
		}
		h.Advance(time.Second)
		if n := len(h.Truths()); n < len(r.Fixtures) {
			t.Errorf("%s: %d lamps stand for %d fixtures", path, n, len(r.Fixtures))
		}
	}
}

func exists(path string) bool {
	_, err := os.Stat(path)
	return err == nil
}

// A lamp whose address is off takes the values of the slots beside: at one above, its dimmer what is meant for red and its red what is meant for green.
// Below the first slot and above the last it finds nothing.
func TestALampAtAnotherAddressTakesOtherSlots(t *testing.T) {
	const ordinary = "lamps:\n  - {profile: Test Wash, spread: 0, kind_spread: 0, heat: 0, cut_off: 0}\n"
	slots := []byte{0, 255, 255, 0, 0, 0, 0, 0}
	red := lit(still(t, small(t), ordinary), 1, []byte{255, 255, 0, 0, 0, 0, 0, 0}, 0)
	if got := lit(still(t, small(t), ordinary+"  - {fixture: wash, address_off: 1}\n"), 1, slots, 0); got.UV().Dist(red.UV()) > 0.001 || got.Y < red.Y/2 {
		t.Errorf("one above it gives %v, red is %v", got, red)
	}
	if got := lit(still(t, small(t), ordinary+"  - {fixture: wash, address_off: -1}\n"), 1, slots, 0); got.Y > 0 {
		t.Errorf("one below the first slot its dimmer finds nothing, and it gives %v", got)
	}
}

// A lamp that is itself in another mode of its profile takes its parameters from the slots of that: in one of 8 bit its red is what is meant for the fine part of the rig's dimmer.
func TestALampInAnotherModeTakesOtherSlots(t *testing.T) {
	p, err := profiles.Parse("p.yaml", []byte(`profile: Test Pair
modes:
  - mode: fine
    kind: emitters
    slots: 8
    curve: linear
    dimmer: {slots: [1, 2], curve: linear}
    emitters: [{name: red, slots: [3, 4]}, {name: green, slots: [5, 6]}, {name: blue, slots: [7, 8]}]
  - mode: coarse
    kind: emitters
    slots: 4
    curve: linear
    dimmer: {slots: [1], curve: linear}
    emitters: [{name: red, slots: [2]}, {name: green, slots: [3]}, {name: blue, slots: [4]}]
`))
	if err != nil {
		t.Fatal(err)
	}
	r := small(t)
	r.Fixtures[0].Profile, r.Fixtures[0].Mode = p, &p.Modes[0]
	const ordinary = "lamps:\n  - {profile: Test Pair, spread: 0, kind_spread: 0, heat: 0, cut_off: 0}\n"
	red := lit(still(t, r, ordinary), 1, []byte{255, 255, 255, 255, 0, 0, 0, 0}, 0)
	green := lit(still(t, r, ordinary), 1, []byte{255, 255, 0, 0, 255, 255, 0, 0}, 0)
	coarse := ordinary + "  - {fixture: wash, mode: coarse}\n"
	if got := lit(still(t, r, coarse), 1, []byte{255, 255, 0, 0, 255, 255, 0, 0}, 0); got.UV().Dist(red.UV()) > 0.001 || got.Y < 0.9*red.Y {
		t.Errorf("with its second slot alone at full it gives %v, red is %v", got, red)
	}
	if got := lit(still(t, r, coarse), 1, []byte{255, 0, 255, 0, 0, 0, 0, 0}, 0); got.UV().Dist(green.UV()) > 0.001 {
		t.Errorf("with its third slot alone at full it gives %v, green is %v", got, green)
	}
	f, err := ParseFile("stage.yaml", []byte("seed: 3\n"+ordinary+"  - {fixture: wash, mode: finest}\n"))
	if err != nil {
		t.Fatal(err)
	}
	if _, err := Build(r, f); err == nil || !strings.Contains(err.Error(), `no mode "finest"`) {
		t.Errorf("a mode that the profile has not: %v", err)
	}
}
