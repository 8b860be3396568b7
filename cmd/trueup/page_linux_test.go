package main

import (
	"context"
	"fmt"
	"net"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/chromedp/cdproto/runtime"
	"github.com/chromedp/chromedp"
)

// screenshotsIn names a folder that the pictures of the page are kept in; without it they go where the test's other files go.
const screenshotsIn = "SCREENSHOTS"

// pagePatience is how long a page may take to show something: a fault is seen at once by whoever waits, and a busy machine is no fault.
const pagePatience = 4 * time.Minute

// browsers starts a Chromium that several tests' pages live in.
func browsers(t *testing.T) context.Context {
	t.Helper()
	exe, err := exec.LookPath("chromium")
	if err != nil {
		if os.Getenv("TRUEUP_CI") == "1" {
			t.Fatal("chromium is not installed")
		}
		t.Skip("chromium is not installed: the page is not looked at")
	}
	opts := []chromedp.ExecAllocatorOption{chromedp.ExecPath(exe), chromedp.Headless, chromedp.NoSandbox, chromedp.DisableGPU, chromedp.NoFirstRun,
		chromedp.UserDataDir(t.TempDir()), chromedp.WSURLReadTimeout(time.Minute), chromedp.Flag("disable-background-networking", true), chromedp.Flag("disable-component-update", true)}
	ctx, cancel := chromedp.NewExecAllocator(t.Context(), opts...)
	t.Cleanup(cancel)
	ctx, cancel = chromedp.NewContext(ctx)
	t.Cleanup(cancel)
	if err := chromedp.Do(ctx); err != nil {
		t.Fatal(err)
	}
	return ctx
}

// screenOf is a page in a browser of its own, as a person looks at it.
type screenOf struct {
	t    *testing.T
	ctx  context.Context
	name string
	dir  string
}

func openScreen(t *testing.T, browser context.Context, name string, w, h int64, url string) *screenOf {
	t.Helper()
	ctx, cancel := chromedp.NewContext(browser, chromedp.WithNewBrowserContext(), chromedp.WithListener(func(ev any) {
		if e, ok := ev.(*runtime.EventExceptionThrown); ok {
			t.Errorf("%s: a script failed: %+v", name, e.ExceptionDetails)
		}
	}))
	t.Cleanup(cancel)
	s := &screenOf{t: t, ctx: ctx, name: fmt.Sprintf("%s-%dx%d", name, w, h), dir: os.Getenv(screenshotsIn)}
	if s.dir == "" {
		s.dir = t.TempDir()
	}
	s.must("opening the page", chromedp.Do(ctx, chromedp.EmulateViewport(w, h, chromedp.EmulateMobile), chromedp.Navigate(url)))
	return s
}

func (s *screenOf) must(what string, err error) {
	s.t.Helper()
	if err != nil {
		s.shot("fault")
		s.t.Fatalf("%s: %s: %v", s.name, what, err)
	}
}

// js evaluates an expression to a text.
func (s *screenOf) js(expression string) string {
	s.t.Helper()
	ctx, cancel := context.WithTimeout(s.ctx, time.Minute)
	defer cancel()
	v, err := chromedp.Run(ctx, chromedp.Evaluate[string]("String("+expression+")"))
	if err != nil {
		s.t.Fatalf("%s: %s: %v", s.name, expression, err)
	}
	return v
}

// until waits until an expression is true.
func (s *screenOf) until(expression string) {
	s.t.Helper()
	for end := time.Now().Add(pagePatience); time.Now().Before(end); time.Sleep(50 * time.Millisecond) {
		if s.js("Boolean("+expression+")") == "true" {
			return
		}
	}
	s.shot("fault")
	s.t.Fatalf("%s: %s has not become true; the page says:\n%.1500s", s.name, expression, s.js("document.body.innerText"))
}

// says waits until an element says something.
func (s *screenOf) says(id, words string) {
	s.t.Helper()
	s.until(fmt.Sprintf("document.getElementById(%q).innerText.includes(%q)", id, words))
}

// click presses what a person could press: it must be seen, be enabled, and lie under no other thing.
func (s *screenOf) click(selector string) {
	s.t.Helper()
	s.until(fmt.Sprintf(`(() => { globalThis.spot = ""; const e = document.querySelector(%q); if (!e || e.disabled || !e.checkVisibility()) return false; e.scrollIntoView({block: "center"}); const r = e.getBoundingClientRect();
		const x = r.x + r.width / 2, y = r.y + r.height / 2, hit = document.elementFromPoint(x, y); globalThis.spot = x + " " + y; return hit && (e === hit || e.contains(hit) || hit.contains(e)); })()`, selector))
	var x, y float64
	if _, err := fmt.Sscan(s.js("globalThis.spot"), &x, &y); err != nil {
		s.t.Fatal(err)
	}
	ctx, cancel := context.WithTimeout(s.ctx, time.Minute)
	defer cancel()
	s.must("click "+selector, chromedp.Do(ctx, chromedp.MouseClickXY(x, y)))
}

// shot keeps a picture of the page, of all of it and not of a window of it.
func (s *screenOf) shot(name string) {
	ctx, cancel := context.WithTimeout(s.ctx, time.Minute)
	defer cancel()
	png, err := chromedp.Run(ctx, chromedp.CaptureScreenshot())
	if err == nil {
		err = os.WriteFile(filepath.Join(s.dir, s.name+"-"+name+".png"), png, 0o644)
	}
	if err != nil {
		s.t.Logf("%s: no picture: %v", s.name, err)
	}
}

// bothForms keeps a picture in the dark and one in the red-light form.
func (s *screenOf) bothForms(name string) {
	s.t.Helper()
	s.shot(name)
	s.click("#form")
	s.shot(name + "-red")
	s.click("#form")
}

// begin goes through the dialog to a run of a kind.
func (s *screenOf) begin(work string) {
	s.t.Helper()
	s.click("#begin-run")
	s.click(fmt.Sprintf(`input[name="work"][value=%q]`, work))
	s.click("#order-go")
	s.until(`!document.getElementById("plan").hidden`)
	if c := s.js(`document.getElementById("plan-cautions").innerText`); !strings.Contains(c, "epilepsy") {
		s.t.Errorf("%s: a run is armed without cautions: %q", s.name, c)
	}
	if s.js(`document.getElementById("go").disabled`) != "true" {
		s.t.Errorf("%s: light can be moved before anybody said that the stage is clear", s.name)
	}
	s.click("#clear")
	s.bothFormsOfDialog("arm-" + strings.ReplaceAll(work, " ", "-"))
	s.click("#go")
	s.until(`!/The run is over|Nothing runs/.test(document.getElementById("doing").innerText)`)
}

func (s *screenOf) bothFormsOfDialog(name string) {
	s.shot(name)
	s.js(`document.documentElement.dataset.form = "red"`)
	s.shot(name + "-red")
	s.js(`document.documentElement.dataset.form = "dark"`)
}

// servedRig is the program as it serves a page, beside a stage.
type servedRig struct {
	*processRun
	path, address string
}

func (p *servedRig) serve() {
	p.t.Helper()
	p.launch(p.exe, "serve", p.path, "--out", p.out, "--page-address", p.address)
	p.waitLine("Ctrl-C ends")
}

func (p *servedRig) url() string { return "http://" + p.address + "/" }

func freeAddress(t *testing.T) string {
	t.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	defer l.Close()
	return l.Addr().String()
}

// serveSmall serves the small rig on a stage.
func serveSmall(t *testing.T) *servedRig {
	t.Helper()
	return serveSmallBy(t, func(stage string) string { return stage })
}

// serveSmallBy sends the levels by another address than the stage's.
func serveSmallBy(t *testing.T, way func(stage string) string) *servedRig {
	t.Helper()
	if testing.Short() {
		t.Skip("needs a minute of real time")
	}
	run, path, write := onSmallStage(t, "seed: 7\nmeter: {integration_ms: 150, period_ms: 250}\n")
	p := &servedRig{processRun: run, path: path, address: freeAddress(t)}
	write(way(p.stage.ready.SACN.String()), p.stage.ready.Meter)
	p.serve()
	return p
}

const over = "The run is over"

// The whole job from a phone, with a laptop that looks on: check, survey, match with hold and skip, verify, also at points, recall and
// stop, hand-over; then a hole in the network, and a program that is killed in mid-run and goes on.
func TestPageRunsTheWholeJob(t *testing.T) {
	if os.Getenv("TRUEUP_LONG") != "1" {
		t.Skip("two minutes of real time; set TRUEUP_LONG=1")
	}
	t.Parallel()
	p := serveSmall(t)
	b := browsers(t)
	phone := openScreen(t, b, "phone", 360, 740, p.url())
	wide := openScreen(t, b, "laptop", 1440, 900, p.url())
	phone.says("link", "live")
	wide.says("doing", "Nothing runs")
	phone.bothForms("idle")

	phone.click("#begin-check")
	phone.says("checked", "patch sheet")
	phone.begin("survey")
	wide.until(`document.getElementById("stop").getBoundingClientRect().bottom <= innerHeight`)
	phone.says("doing", over)
	phone.says("list", "read as found")

	phone.begin("match")
	phone.click("#hold")
	wide.says("doing", "Held")
	phone.says("hold", "Go on")
	phone.click("#hold")
	wide.until(`document.getElementById("figure").hidden === false`)
	phone.click("#hold") // so that the run has not ended before all pictures are taken
	phone.says("hold", "Go on")
	phone.bothForms("match")
	wide.bothForms("match")
	if wide.js(`document.getElementById("hold").disabled`) != "true" {
		t.Error("who looks on can hold the run")
	}
	phone.click("#hold")
	skipsOne(phone)
	phone.says("doing", over)
	wide.bothForms("matched")
	phone.bothForms("matched")

	phone.begin("verify")
	phone.says("doing", over)
	phone.says("list", "read again")

	choosesTheBestCommon(phone)
	readsPoints(phone, wide)

	phone.begin("recall")
	phone.says("log", "the look stands")
	wide.click("#more") // a dialog that is open locks nothing away
	wide.click("#stop") // anybody may stop
	phone.says("doing", over)

	phone.until(`document.querySelectorAll('#runs a[href$="report.html"]').length > 0`)
	for _, file := range []string{"report.html", "settings.csv", "settings.json", "journal.jsonl"} {
		phone.until(fmt.Sprintf(`document.querySelector('#runs a[href$=%q]')`, file))
		phone.js(fmt.Sprintf(`void (async () => { globalThis.got = ""; const r = await fetch(document.querySelector('#runs a[href$=%q]').href); globalThis.got = r.status + " " + (await r.text()).length; })()`, file))
		phone.until(`globalThis.got.startsWith("200 ") && Number(globalThis.got.slice(4)) > 100`)
	}

	// A program that does not answer looks like a hole in the network: nothing is refused, nothing comes.
	p.match.Process.Signal(syscall.SIGSTOP)
	phone.says("stale", "Not live")
	p.match.Process.Signal(syscall.SIGCONT)
	phone.says("link", "live")
	phone.until(`document.getElementById("stale").hidden`)

	wide.click("#take")
	phone.says("link", "you look on")
	wide.js(`document.getElementById("menu").close()`)
	killedAndResumed(p, wide, phone)
}

// skipsOne skips a fixture of the match that runs. Between two fixtures there is nothing to skip, and a run may be over before a finger is there:
// then it is tried again, in another run.
func skipsOne(s *screenOf) {
	s.t.Helper()
	held, ended := `document.getElementById("list").innerText.includes("held")`, fmt.Sprintf(`document.getElementById("doing").innerText.includes(%q)`, over)
	for range 3 {
		for s.js(ended) != "true" {
			s.js(`document.getElementById("skip").click()`)
			for end := time.Now().Add(time.Second); time.Now().Before(end); time.Sleep(50 * time.Millisecond) {
				if s.js(held) == "true" {
					return
				}
			}
		}
		s.begin("match")
	}
	s.says("list", "held")
}

// Light is moved from one page and stopped by one tap on another, which only looks on.
func TestPageMovesLightAndAnybodyStopsIt(t *testing.T) {
	p := serveSmall(t)
	b := browsers(t)
	phone := openScreen(t, b, "phone", 360, 740, p.url())
	phone.says("link", "live")
	phone.begin("match")
	wide := openScreen(t, b, "laptop", 1440, 900, p.url())
	wide.says("link", "you look on")
	if wide.js(`document.getElementById("hold").disabled`) != "true" {
		t.Error("who looks on can hold the run")
	}
	wide.click("#stop")
	phone.says("doing", over)
	phone.says("log", "stops the run")
}

// killedAndResumed kills the program in mid-run. Both pages say that they are not live, and catch up by themselves when it is
// back; the run goes on where it was.
func killedAndResumed(p *servedRig, wide, phone *screenOf) {
	wide.begin("match")
	wide.says("lamps-h", "Fixtures 1/2")
	p.match.Process.Kill()
	p.match.Wait()
	phone.says("link", "NOT LIVE")
	phone.says("stale", "Not live")
	phone.bothForms("not-live")
	p.serve()
	phone.says("link", "live")
	wide.says("doing", "Nothing runs")
	wide.begin("resume")
	wide.says("doing", over)
	wide.says("lamps-h", "Fixtures 2/2")
}

// serveByHand serves a rig of one lamp with knobs, and a meter that a person reads.
func serveByHand(t *testing.T) *servedRig {
	t.Helper()
	if testing.Short() {
		t.Skip("needs several seconds of real time")
	}
	exe, err := exec.LookPath("trueup")
	if err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	profiles := filepath.ToSlash(filepath.Join(moduleRoot(t), "examples", "profiles"))
	rigText := fmt.Sprintf("rig: by hand\noutput: {mode: own, unicast: [\"127.0.0.1:5568\"]}\nfeeds:\n  - {name: meter, kind: hand}\nsafety: {level_cap: 60 %%}\ntarget: {color: 4300 K}\nfixtures:\n  - {name: panel, profile: %s/rushwimble-knob-panel.yaml, mode: knobs, by_hand: true}\n", profiles)
	p := &servedRig{processRun: &processRun{t: t, exe: exe, env: append(os.Environ(), "HOME="+dir, "XDG_CONFIG_HOME="+filepath.Join(dir, "config")), out: filepath.Join(dir, "out")}, path: filepath.Join(dir, "rig.yaml"), address: freeAddress(t)}
	if err := os.WriteFile(p.path, []byte(rigText), 0o644); err != nil {
		t.Fatal(err)
	}
	p.serve()
	return p
}

// A person with a handheld meter is asked what it shows, sees how it was understood, and takes a slip back.
func TestPageTakesReadingsByHand(t *testing.T) {
	p := serveByHand(t)
	s := openScreen(t, browsers(t), "phone-by-hand", 360, 740, p.url())
	s.begin("by hand")
	// What comes back of an answer may be later than the next question: no press of it is lost.
	s.js(`void (() => { const ask = fetch; globalThis.fetch = async (...a) => { const r = await ask(...a); if (a[0] === "/api/answer") await new Promise((f) => setTimeout(f, 1000)); return r; }; })()`)
	next := func() string {
		s.until(`!document.getElementById("question").hidden && !document.querySelector("#answers button:disabled:not(#read-it), #yes button:disabled")`)
		return s.js(`document.getElementById("question-h").innerText`)
	}
	press := func(keys ...string) {
		for _, k := range keys {
			s.click(fmt.Sprintf(`#keys button[aria-label=%q]`, k))
		}
	}
	dialled, read, undone := 0, 0, false
	for range 30 {
		q := next()
		at := s.js(`document.getElementById("question").dataset.id`)
		switch {
		case strings.HasSuffix(q, "set"):
			if dialled == 0 {
				s.bothForms("dial")
			}
			dialled++
			s.click("#is-set")
		case s.js(`Boolean(document.getElementById("is-right"))`) == "true":
			if read == 0 {
				s.bothForms("understood")
			}
			read++
			s.click("#is-right")
		case read == 1 && !undone:
			undone = true
			s.click("#undo")
		case strings.HasPrefix(q, "With the fixtures out"):
			s.click("#is-dark")
		default:
			if q != "panel: the meter shows" {
				t.Errorf("the page asks %q: whose light is to be read?", q)
			}
			if read == 0 { // on a phone nobody must scroll to see whose light it is, or for the button
				s.until(`(() => { const top = document.querySelector("header").getBoundingClientRect().bottom, foot = document.getElementById("stop").getBoundingClientRect().top;
					return document.getElementById("question-h").getBoundingClientRect().top >= top && document.getElementById("read-it").getBoundingClientRect().bottom <= foot; })()`)
				s.shot("asked")
			}
			press("4", "1", "5", "0", "gap", "0", ".", "0", "0", "2")
			if read == 0 {
				s.bothForms("typing")
			}
			s.click("#read-it")
		}
		if undone && read >= 2 {
			break
		}
		s.until(fmt.Sprintf(`document.getElementById("question").dataset.id !== %q`, at))
	}
	if dialled == 0 || read < 2 || !undone {
		t.Errorf("%d settings were dialled, %d readings given, undone %v", dialled, read, undone)
	}
	s.says("log", "typed wrongly")
	s.click("#stop")
	s.says("doing", over)
}
