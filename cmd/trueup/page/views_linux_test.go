package page

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"testing"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/chromedp"

	"trueup/colorcalc"
	"trueup/loop/session"
	"trueup/loop/session/core"
	"trueup/loop/session/rig"
)

// Every view, dialog and state of the page, in its dark and its red-light form, on the smallest phone: no serious fault of accessibility, text and
// figures that stand out, nothing that is wider than the screen or too small for a gloved finger, every control within the reach of the tab key,
// nothing that moves where less motion is asked for. What the page can show is asked of its document and of the program's lists of phases,
// questions and works: whatever of it no view has shown is a fault, so that a new one is not forgotten.
func TestEveryViewIsForEverybody(t *testing.T) {
	if os.Getenv("TRUEUP_LONG") != "1" {
		t.Skip("most of a minute of real time; set TRUEUP_LONG=1")
	}
	v := openViews(t)
	v.theRun()
	v.questions()
	v.beginning()
	v.others()
	v.pairing()
	var unseen []string
	if err := json.Unmarshal([]byte(v.js(`JSON.stringify([...document.querySelectorAll("[id]")].map((e) => e.id))`)), &unseen); err != nil {
		t.Fatal(err)
	}
	for _, id := range unseen {
		if !v.shown[id] {
			t.Errorf("no view shows #%s: show it, so that it is looked at", id)
		}
	}
	if len(unseen) < 60 {
		t.Errorf("the page has only %d parts", len(unseen))
	}
}

// views goes through what the page can show.
type views struct {
	*wallOf
	axe, contrast string
	shots         string          // a folder for pictures; "" is none
	shown         map[string]bool // ids that were on the screen while somebody looked
	marks         int             // lines that were written into the log, to wait for
	asks          uint64          // questions
}

func openViews(t *testing.T) *views {
	t.Helper()
	contrast, err := os.ReadFile("testdata/contrast.js")
	if err != nil {
		t.Fatal(err)
	}
	v := &views{contrast: string(contrast), shots: os.Getenv("SCREENSHOTS"), shown: map[string]bool{}}
	if path := os.Getenv("AXE_CORE"); path != "" {
		text, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		v.axe = string(text)
	} else if os.Getenv("TRUEUP_CI") == "1" {
		t.Fatal("AXE_CORE does not say where axe.min.js lies")
	} else {
		t.Log("AXE_CORE does not say where axe.min.js lies (npm pack axe-core): all but the checker's own rules is looked at")
	}
	x := serveViews(t)
	v.wallOf = browse(t, x, func(url string) (string, []chromedp.ExecAllocatorOption) { return url, nil })
	v.must(chromedp.Do(v.ctx, chromedp.EmulateViewport(360, 740, chromedp.EmulateMobile), chromedp.Navigate(v.at)))
	v.until(`document.getElementById("link").dataset.live === "yes"`)
	v.evaluate(v.axe)
	return v
}

// serveViews serves a rig that has all that a page can show, and earlier runs of which one broke off.
func serveViews(t *testing.T) *served {
	t.Helper()
	x := serveOn(t, true)
	r, err := rig.Load("../../../examples/interview/rig.yaml")
	if err != nil {
		t.Fatal(err)
	}
	r.Fixtures[0].Probe = "window"
	r.Groups = append(r.Groups, rig.Group{Name: "knobs", Fixtures: []int{0, 1}})
	x.cfg.Rig = func() (*rig.Rig, error) { return r, nil }
	x.cfg.Check = func(context.Context) (string, []error) {
		return "1/1-8     background" + strings.Repeat("  column", 20) + "\n" + strings.Repeat("what is in force is said in a sentence ", 6), []error{errors.New("no desk is heard")}
	}
	x.control.prepare = func(_ context.Context, o Order) (*Prepared, error) {
		if o.Points == "none" {
			return nil, errors.New("points: want a number, a grid or names")
		}
		return &Prepared{Plan: Plan{Work: o.Work, Rig: "small", Output: "sACN to 127.0.0.1:5568", Target: "5600 K", Tolerance: 0.001, Level: 0.4, MovesLight: true,
			Drives: []Drive{{Name: "background", Slots: "1/1-4", Profile: "panel", Mode: "mired", Cap: 0.6}, {Name: "key", Profile: "knob panel", Mode: "knobs"}},
			Limits: []string{"rise and fall at most 50 %/s"}, Loud: "there is no safety block", Notes: []string{"4600 K: reached by 2 of 3", fmt.Sprintf("watched for %d s, none %t", o.Watch, o.WatchNone)}, Cautions: "Flashing light can cause seizures."}}, nil
	}
	x.runs.root, x.runs.rig = t.TempDir(), "small"
	for _, name := range []string{"match", "killed"} {
		dir := filepath.Join(x.runs.root, name)
		if err := os.Mkdir(dir, 0o700); err != nil {
			t.Fatal(err)
		}
		text, err := os.ReadFile("../../../testdata/journals/v2/" + name + ".jsonl")
		if err != nil {
			t.Fatal(err)
		}
		for file, text := range map[string][]byte{session.JournalName: text, "report.html": []byte("<p>report"), "settings.csv": []byte("a,b\n")} {
			if err := os.WriteFile(filepath.Join(dir, file), text, 0o600); err != nil {
				t.Fatal(err)
			}
		}
	}
	return x
}

func (v *views) evaluate(script string) {
	v.t.Helper()
	_, err := chromedp.Run(v.ctx, chromedp.Evaluate[any](script+";0"))
	v.must(err)
}

// none complains of every element that a script lists.
func (v *views) none(fault, script string) {
	v.t.Helper()
	if all := v.js(script + `.map((e) => e.textContent.slice(0, 60)).join("; ")`); all != "" {
		v.t.Errorf("%s: %s", all, fault)
	}
}

// press presses a control as a person does: by its name or whatever selects it.
func (v *views) press(selector string) {
	v.t.Helper()
	v.until(fmt.Sprintf(`(() => { const e = document.querySelector(%q); return e && !e.disabled && e.checkVisibility(); })()`, selector))
	v.js(fmt.Sprintf(`document.querySelector(%q).click()`, selector))
}

// tell changes what is said of the run, and waits until the page has drawn it.
func (v *views) tell(set func(*Top)) {
	v.t.Helper()
	v.board.Top(set)
	v.board.flush()
	// A line of the log that comes after it is drawn after it.
	v.marks++
	mark := fmt.Sprint("seen ", v.marks)
	v.board.Say(mark, v.marks%2 == 0)
	v.until(fmt.Sprintf(`document.querySelector("#log li")?.textContent.endsWith(%q)`, mark))
	v.js(`void (async () => { globalThis.drawn = false; requestAnimationFrame(() => requestAnimationFrame(() => { globalThis.drawn = true; })); })()`)
	v.until("globalThis.drawn")
}

// enum are the values that a field may have, by the description of the interface.
func enum[T any](t testing.TB, field string) []string {
	t.Helper()
	f, ok := reflect.TypeFor[T]().FieldByName(field)
	if !ok || f.Tag.Get("enum") == "" {
		t.Fatalf("%T has no list of %s", *new(T), field)
	}
	return strings.Split(f.Tag.Get("enum"), ",")
}

// theRun shows a run in all its phases, with everything that can be said of it.
func (v *views) theRun() {
	v.look("before the first run")
	v.press("#begin-check")
	v.until(`document.getElementById("checked").innerText.includes("FAULT")`)
	v.look("checked")
	v.none("needs to be pushed sideways", `[...document.querySelectorAll("#checked span:not(.columns)")].filter((e) => e.getBoundingClientRect().right > e.parentElement.getBoundingClientRect().right)`)
	v.none("has lost its columns", `[...document.querySelectorAll("#checked .columns")].filter((e) => e.getClientRects().length > 1)`)
	v.none("stands in a row of its own", `[...document.querySelectorAll("#picture .row button")].filter((e) => e.offsetTop !== e.parentElement.firstElementChild.offsetTop)`)
	v.press("#stop")
	v.until(`!document.getElementById("said-now").hidden`)
	v.look("nothing to stop")
	info := &session.RunInfo{Rig: "small", Work: "match", Target: "5600 K", Tolerance: 0.001}
	for i := range 8 {
		info.Fixtures = append(info.Fixtures, session.FixtureInfo{Name: fmt.Sprint("panel ", i+1), Profile: "Panel", Mode: "mired", Address: "1/1", Probe: "mark", Col: i%4 + 1, Row: i/4 + 1, LeftOut: i == 7})
	}
	v.board.Entry(session.Entry{Time: v.now, Kind: core.KindRun, Run: info})
	v.board.Entry(session.Entry{Time: v.now, Kind: core.KindReference, Reference: &session.Reference{Name: "5600 K", UV: colorcalc.UV{U: 0.2035, V: 0.4809}}})
	for i, d := range []float64{0.0001, 0.0008, 0.0012, 0.0016, 0.0022, 0.0060} {
		m := &session.Measured{UV: colorcalc.UV{U: 0.2035 + d, V: 0.4809}, Delta: d, SigmaUV: 0.0002, Lux: 400 + 9*float64(i*i), Probe: "mark"}
		v.board.Entry(session.Entry{Time: v.now, Kind: core.KindReading, Fixture: info.Fixtures[i].Name, Reading: m})
	}
	for _, phase := range enum[Top](v.t, "Phase") {
		v.tell(func(t *Top) {
			t.Phase, t.At, t.Of, t.Done, t.Left = Phase(phase), []int{1, 2}, 8, 3, 95
			t.Paused, t.Lead, t.Spread, t.Stage, t.Fault = "", "", "", "", ""
			if t.Phase == Over {
				t.At, t.Lead, t.Spread, t.Stage, t.Fault = []int{}, "Of 8 fixtures 6 landed.", "worst pair: panel 1 and panel 6, 0.0059", "The fixtures were handed back.", "the meter fell silent"
			}
		})
		v.look("phase " + phase)
	}
	v.press("#wall-level")
	v.look("the wall by level")
	v.none("is wider than its plate", `[...document.querySelectorAll("#map text")].filter((e) => e.getBBox().width > e.previousElementSibling.getBBox().width)`)
	v.press("#wall-colour")
	v.tell(func(t *Top) { t.Phase, t.At, t.Paused = Working, []int{1}, "the meter is silent: look at its cable" })
	v.look("paused")
}

// questions asks whatever a person can be asked, whoever looks.
func (v *views) questions() {
	you := Person{}
	if err := json.Unmarshal([]byte(v.asked("/api/me", "you")), &you); err != nil {
		v.t.Fatal(err)
	}
	for _, kind := range enum[Question](v.t, "Kind") {
		for i, q := range []Question{
			{Lamp: "key", Place: "point 1 of 6: put the meter there", Dials: []Dial{{"CCT", "5000 K", "5600 K"}, {"INT", "", "40 %"}}},
			{Lamp: "key", Place: "point 1 of 6", Probe: "mark", Dark: true, Problem: "0.9 0.9 is no colour", Undo: true},
			{Lamp: "key", Understood: "x 0.3315, y 0.3393, 5550 K Duv +0.0016", Undo: true},
		} {
			q.Kind = kind
			if kind == placeKind {
				q.Place = "point 1 of 6"
			}
			for who, operates := range map[*Person]string{&you: "who operates", {ID: "other", Name: "page abc"}: "who looks on"} {
				if i > 0 && who != &you {
					continue // what else is asked is shown to who looks on in the same way
				}
				v.asks++
				q.ID = v.asks
				v.tell(func(t *Top) { t.Question, t.Operator, t.Paused = &q, who, "" })
				v.until(fmt.Sprintf(`document.getElementById("question").dataset.id === "%d"`, q.ID))
				if kind == readKind && who == &you {
					v.js(`(() => { const e = document.getElementById("typed"); e.value = "4310 -0.002"; e.dispatchEvent(new Event("input")); })()`)
				}
				v.look(fmt.Sprintf("asked to %s, %d, by %s", kind, i, operates))
			}
		}
	}
	v.tell(func(t *Top) { t.Question, t.Operator = nil, nil })
}

// asked is a part of what the page itself is answered, as JSON.
func (v *views) asked(path, part string) string {
	v.js(fmt.Sprintf(`void (async () => { globalThis.answer = ""; globalThis.answer = JSON.stringify((await (await fetch(%q)).json())[%q]); })()`, path, part))
	v.until(`globalThis.answer !== ""`)
	return v.js("globalThis.answer")
}

// beginning goes through the dialog that leads to a run: every work, everything to match to, and the plan.
func (v *views) beginning() {
	v.tell(func(t *Top) { t.Phase, t.At = Over, []int{} })
	v.press("#begin-run")
	v.until(`document.querySelector('input[name="work"]')`)
	works := strings.Split(v.js(`[...document.querySelectorAll('input[name="work"]')].map((e) => e.value).join(",")`), ",")
	if want := enum[Order](v.t, "Work"); len(works) != len(want) {
		v.t.Errorf("%q can be chosen, of %q", works, want)
	}
	for _, w := range works {
		v.press(fmt.Sprintf(`input[name="work"][value=%q]`, w))
		v.look("to begin " + w)
	}
	v.press(`input[name="work"][value="match"]`)
	for i := range strings.Fields(v.js(`[...document.getElementById("target").options].map(() => "x").join(" ")`)) {
		v.js(fmt.Sprintf(`(() => { const e = document.getElementById("target"); e.selectedIndex = %d; e.dispatchEvent(new Event("change")); })()`, i))
		if v.js(`document.getElementById("colour-block").hidden`) == "false" || i == 0 {
			v.look("to match to " + v.js(`document.getElementById("target").value`))
		}
	}
	v.press("#only-block summary")
	v.look("which fixtures")
	v.js(`void (document.getElementById("target").value = "")`)
	for choice, told := range map[string]string{"": "watched for 0 s, none false", "each": "watched for 8 s, none false", "none": "watched for 0 s, none true"} {
		v.js(fmt.Sprintf(`void (document.getElementById("watch").value = %q)`, choice))
		v.press("#order-go")
		v.until(fmt.Sprintf(`document.getElementById("plan-notes").innerText.includes(%q)`, told))
		v.press("#back")
	}
	v.press(`input[name="work"][value="points"]`)
	v.js(`document.getElementById("points").value = "none"`)
	v.press("#order-go")
	v.until(`!document.getElementById("order-said").hidden`)
	v.look("an order that is refused")
	v.js(`document.getElementById("points").value = "3x2"`)
	v.press("#order-go")
	v.until(`!document.getElementById("plan").hidden`)
	v.press("#plan-count")
	v.look("what will be driven")
	v.control.mu.Lock()
	clear(v.control.pending)
	v.control.mu.Unlock()
	v.press("#clear")
	v.press("#go")
	v.until(`!document.getElementById("start-said").hidden`)
	v.look("a plan that is too old")
	v.press("#arm .shut")
}

// others are the other dialogs, other machines and other pages, and what is said when something is wrong.
func (v *views) others() {
	other := v.paired()
	r, err := other.Get(v.url + eventsPath)
	if err != nil {
		v.t.Fatal(err)
	}
	defer r.Body.Close()
	v.press("#more")
	v.until(`document.getElementById("people").childElementCount === 2`)
	v.press("#invite")
	v.until(`!document.getElementById("code").hidden`)
	v.look("another phone")
	v.press("#menu .shut")
	v.tell(func(t *Top) {
		t.Phase = Ending
		t.Health = []Health{{"meter", "feed", true, "live", ""}, {"desk", "desk", false, "silent", "nothing was heard for 5 s"}}
		t.Elsewhere = []Elsewhere{{Machine: "stage left", Online: true, Rig: "wall", Phase: Working, Work: "match", Of: 9, Done: 4, Left: 60}, {Machine: "stage right", Fault: "stopped"}}
	})
	v.press("#leave")
	v.until(`document.getElementById("sure").open`)
	v.look("to leave the fixtures as they stand")
	v.press(`#sure button[value="no"]`)
	v.tell(func(t *Top) { t.Phase = Over })
	v.press("#runs li button")
	v.look("a cue")
	// The stream is still there, and its next beat makes the page live again: it goes offline over and over.
	v.js(`void (window.offline = setInterval(() => dispatchEvent(new Event("offline")), 50))`)
	v.until(`!document.getElementById("stale").hidden`)
	v.look("not live")
	v.js(`void clearInterval(window.offline)`)
}

// pairing is what a browser is shown that has no key.
func (v *views) pairing() {
	v.open = false
	_, err := chromedp.Run(v.ctx, func(ctx context.Context, t *chromedp.Target) (cdp.Empty, error) {
		return cdp.Call(ctx, t, network.ClearBrowserCookies, cdp.Empty{})
	})
	v.must(err)
	v.must(chromedp.Do(v.ctx, chromedp.Navigate(v.at)))
	v.until(`!document.getElementById("pair").hidden`)
	v.js(`document.getElementById("pair-key").value = "guess"`)
	v.press("#pair-form button")
	v.until(`document.getElementById("pair-said").innerText !== ""`)
	v.evaluate(v.axe)
	v.look("to pair")
}
