package main

import (
	"bufio"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"
)

// README's walks go the same way on the page: in a fresh folder, with the stage as a process of its own, on a phone. What to press, to type
// and to wait for is taken from README as it stands.
func TestReadmeWalksOnThePage(t *testing.T) {
	if os.Getenv("TRUEUP_LONG") != "1" {
		t.Skip("most of a minute of real time; set TRUEUP_LONG=1")
	}
	t.Parallel()
	walks := readmePageWalks(readme(t))
	if len(walks) != 3 {
		t.Fatalf("README has %d walks on the page, want 3", len(walks))
	}
	for _, w := range walks {
		t.Run(w.example, func(t *testing.T) {
			if inNamespaceFor(t, t.Name(), 10*time.Minute, os.Stdout) {
				w.follow(t)
			}
		})
	}
}

// pageWalk is a paragraph of README that begins with "On the page", and the block of commands before it.
type pageWalk struct {
	example, stage, serve string
	steps                 []pageStep
}

// pageStep is something to press (bold in README), to type (code) or to wait for (slanted).
type pageStep struct{ press, typed, says string }

var pageMarks = regexp.MustCompile("\\*\\*([^*]+)\\*\\*|`([^`]+)`|\\*([^*]+)\\*")

// readmePageWalks reads the walks on the page. The first code of one is the command that opens the page.
func readmePageWalks(text string) (all []pageWalk) {
	var w pageWalk
	for p := range strings.SplitSeq(text, "\n\n") {
		if i := strings.Index(p, "    trueup rig copy-example "); i >= 0 {
			w = pageWalk{example: strings.Fields(p[i:])[3]}
		}
		if m := regexp.MustCompile("trueup (stage [^`#\n]*)").FindStringSubmatch(p); m != nil {
			w.stage = strings.TrimSpace(m[1])
		}
		said, ok := strings.CutPrefix(p, "On the page: ")
		if !ok {
			continue
		}
		for _, m := range pageMarks.FindAllStringSubmatch(strings.ReplaceAll(said, "\n", " "), -1) {
			if w.serve == "" {
				w.serve = m[2]
				continue
			}
			w.steps = append(w.steps, pageStep{m[1], m[2], m[3]})
		}
		all = append(all, w)
	}
	return all
}

func (w *pageWalk) follow(t *testing.T) {
	home := t.TempDir()
	env := append(os.Environ(), "HOME="+home, "XDG_CONFIG_HOME="+filepath.Join(home, "config"))
	exe, err := exec.LookPath("trueup")
	if err != nil {
		t.Fatal(err)
	}
	copied := exec.Command(exe, "rig", "copy-example", w.example)
	copied.Dir, copied.Env = home, env
	if out, err := copied.CombinedOutput(); err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
	stage := exec.Command(exe, strings.Fields(w.stage)...)
	stage.Dir, stage.Env = home, env
	typing, err := stage.StdinPipe()
	if err != nil {
		t.Fatal(err)
	}
	said := startSaid(t, stage)
	said.wait("stage ready")
	serve := exec.Command(exe, strings.Fields(strings.TrimPrefix(w.serve, "trueup "))...)
	serve.Dir, serve.Env = home, env
	at := strings.TrimPrefix(startSaid(t, serve).wait("page: http"), "page: ")
	s := openScreen(t, browsers(t), "walk-"+w.example, 360, 740, at)
	s.says("link", "live")
	for i, step := range w.steps {
		t.Log(step)
		switch {
		case step.press == "It is set":
			said.wait("  read") // the last line of what the stage says can be typed
			(&knobPerson{screenOf: s, stage: typing, said: said}).works(w.steps[i:])
			return
		case step.press != "":
			s.pressLabel(step.press)
		case step.typed != "":
			s.press(step.typed)
		case step.says == "The run is over": // of an earlier run it says so too, until the next begins
			s.says("doing", step.says)
		default:
			s.until(fmt.Sprintf("document.body.innerText.includes(%q)", step.says))
		}
		if step.press == "Move light" || step.press == "Begin" {
			s.until(`!/The run is over|Nothing runs/.test(document.getElementById("doing").innerText)`)
		}
	}
	s.until(`!document.querySelector("#runs form")`) // what was asked for came
	s.shot("end")
}

// pressLabel presses what is called so: a button, a link, a choice. Its whole name counts, or the first line of it. Of several the first that can be
// seen does; what a link leads to must be there.
func (s *screenOf) pressLabel(label string) {
	s.t.Helper()
	s.until(fmt.Sprintf(`(() => {
		const first = (e) => { for (const n of e.childNodes) { const t = n.nodeType === 3 ? n.textContent.trim() : n.nodeType === 1 ? first(n) : ""; if (t) return t; } return ""; };
		const over = [...document.querySelectorAll("dialog[open]")].at(-1) ?? document;
		const all = [...over.querySelectorAll("button, a[href], label, summary"), ...document.querySelectorAll("nav button")];
		const e = all.find((e) => !e.disabled && e.checkVisibility() && [e.getAttribute("aria-label"), e.innerText.trim(), first(e)].includes(%q));
		document.querySelector("[data-walk]")?.removeAttribute("data-walk");
		if (e) e.dataset.walk = "";
		return e; })()`, label))
	if s.js(`document.querySelector("[data-walk]").tagName`) != "A" {
		s.click("[data-walk]")
		return
	}
	s.js(`void (async () => { globalThis.got = ""; const r = await fetch(document.querySelector("[data-walk]").href); globalThis.got = r.status + " " + (await r.text()).length; })()`)
	s.until(`globalThis.got !== ""`)
	var status, size int
	if fmt.Sscan(s.js("globalThis.got"), &status, &size); status != 200 || size < 100 {
		s.t.Errorf("%s: %s: status %d, %d bytes", s.name, label, status, size)
	}
}

// knobPerson turns the knobs on the stage as the page says, and types what the meter shows.
type knobPerson struct {
	*screenOf
	stage io.Writer
	said  *said
}

// works answers until the run is over, with every button that README names.
func (p *knobPerson) works(steps []pageStep) {
	p.t.Helper()
	left := []string{}
	for _, s := range steps {
		if s.press != "" {
			left = append(left, s.press)
		}
	}
	pressed := func(label string) bool {
		i := slices.Index(left, label)
		if i >= 0 {
			left = slices.Delete(left, i, i+1)
		}
		return i >= 0
	}
	press := func(label string) { pressed(label); p.pressLabel(label) }
	first := ""
	for {
		p.until(`/The run is over/.test(document.getElementById("doing").innerText) || !document.getElementById("question").hidden && !document.querySelector("#answers button:disabled:not(#read-it), #yes button:disabled")`)
		if strings.Contains(p.js(`document.getElementById("doing").innerText`), over) {
			break
		}
		asked, at := p.js(`document.getElementById("question-h").innerText`), p.js(`document.getElementById("question").dataset.id`)
		name, dial := strings.CutSuffix(asked, ": set")
		if dial && first == "" {
			first = name
		}
		switch {
		case dial && name != first && pressed("Leave this fixture"):
			p.pressLabel("Leave this fixture")
		case dial:
			p.turn(name + " " + p.js(`[...document.querySelectorAll("#dials p")].map((e) => e.firstChild.textContent + " " + e.querySelector("b").textContent).join(" ")`))
			press("It is set")
		case p.js(`Boolean(document.getElementById("is-right"))`) == "true":
			press("Yes, that is right")
		case p.js(`Boolean(document.getElementById("undo"))`) == "true" && pressed("Undo the value before"):
			p.pressLabel("Undo the value before")
		default:
			if strings.HasPrefix(asked, "With the fixtures out") && first != "" {
				p.turn(first + " off")
			}
			p.until(`document.activeElement.id === "typed"`)
			p.press(strings.Join(strings.Fields(p.turn("read"))[3:5], " ")) // the meter shows: x y
			press("Read it so")
		}
		p.until(fmt.Sprintf(`document.getElementById("question").dataset.id !== %q || /The run is over/.test(document.getElementById("doing").innerText)`, at))
	}
	for _, label := range slices.Clone(left) {
		press(label) // what is to be handed over
	}
	p.shot("end")
}

// turn does something on the stage, and gives what is said of it.
func (p *knobPerson) turn(line string) string {
	p.t.Helper()
	fmt.Fprintln(p.stage, line)
	return strings.TrimSpace(p.said.wait("  "))
}

// said is what a process says on standard output.
type said struct {
	t     *testing.T
	lines chan string
}

// startSaid starts a process that is ended with the test.
func startSaid(t *testing.T, cmd *exec.Cmd) *said {
	t.Helper()
	out, err := cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	cmd.Stderr = os.Stderr
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	s := &said{t, make(chan string, 10000)}
	read := make(chan struct{})
	go func() {
		defer close(read)
		for in := bufio.NewScanner(out); in.Scan(); {
			s.lines <- in.Text()
		}
		close(s.lines)
	}()
	t.Cleanup(func() {
		cmd.Process.Signal(os.Interrupt)
		late := time.AfterFunc(longWait, func() { cmd.Process.Kill() })
		defer late.Stop()
		<-read
		cmd.Wait()
	})
	return s
}

// wait gives the next line that begins so.
func (s *said) wait(with string) string {
	s.t.Helper()
	late := time.After(longWait)
	for {
		select {
		case l, ok := <-s.lines:
			if !ok {
				s.t.Fatalf("it ended before it said %q", with)
			}
			if strings.HasPrefix(l, with) {
				return l
			}
		case <-late:
			s.t.Fatalf("nothing was said that begins with %q", with)
		}
	}
}
