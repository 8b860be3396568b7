package page

import (
	"context"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"strings"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"
)

// look holds what is on the screen against all that is asked of every view.
func (v *views) look(where string) {
	v.t.Helper()
	var ids []string
	if err := json.Unmarshal([]byte(v.js(`JSON.stringify([...document.querySelectorAll("[id]")].filter((e) => e.checkVisibility()).map((e) => e.id))`)), &ids); err != nil {
		v.t.Fatal(err)
	}
	for _, id := range ids {
		v.shown[id] = true
	}
	if wide := v.js(`document.documentElement.scrollWidth`); wide != "360" {
		v.t.Errorf("%s: it is %s wide on a screen of 360", where, wide)
	}
	if small := v.js(`[...document.querySelectorAll("button, summary, select, input:not([type=checkbox], [type=radio]), label.check, label.pick, a[href]:not(.jump)")].filter((e) => e.checkVisibility()).
		filter((e) => { const r = e.getBoundingClientRect(); return r.height < 44 || r.width < 44; }).map((e) => e.outerHTML.slice(0, 120)).join("\n")`); small != "" {
		v.t.Errorf("%s: too small for a finger (44 px, WCAG 2.2, 2.5.5):\n%s", where, small)
	}
	v.byTabKey(where)
	v.stillWhereAsked(where)
	for _, form := range []string{"dark", "red"} {
		v.js(fmt.Sprintf(`document.documentElement.dataset.form = %q`, form))
		if faint := v.js(v.contrast); faint != "" {
			v.t.Errorf("%s, %s form: does not stand out:\n%s", where, form, faint)
		}
		v.byAxe(where, form)
		v.shot(where + " " + form)
	}
	v.js(`document.documentElement.dataset.form = "dark"`)
}

// byTabKey goes round the page with the tab key, where there is something to press or to fill in that it has not come to in a view before, and must come to
// it. Of choices that exclude each other the tab key goes to one, from which the arrow keys lead to the others.
func (v *views) byTabKey(where string) {
	v.t.Helper()
	v.js(`(() => { globalThis.tabbed ??= new Set(); globalThis.named = (e) => e.id || [e.closest("[id]")?.id, e.tagName, e.type, e.className, e.getAttribute("aria-label")].join(" ");
		globalThis.due = new Set([...document.querySelectorAll("button, input, select, summary, a[href], [tabindex='0']")].filter((e) => !e.disabled && e.checkVisibility())
			.filter((e) => e.type !== "radio" || e.checked).map(globalThis.named)); globalThis.due = globalThis.due.difference(globalThis.tabbed); document.activeElement.blur(); })()`)
	left := func() string {
		return v.js(`(() => { const n = globalThis.named(document.activeElement); globalThis.due.delete(n); globalThis.tabbed.add(n); return [...globalThis.due].join(", "); })()`)
	}
	for range 150 {
		if left() == "" {
			return
		}
		v.must(chromedp.Do(v.ctx, chromedp.KeyEvent("\t")))
	}
	v.t.Errorf("%s: the tab key does not come to %s", where, left())
}

// stillWhereAsked looks that nothing moves where the system asks for less motion.
func (v *views) stillWhereAsked(where string) {
	v.t.Helper()
	media := func(features ...*emulation.MediaFeature) {
		_, err := chromedp.Run(v.ctx, func(ctx context.Context, t *chromedp.Target) (cdp.Empty, error) {
			return cdp.Call(ctx, t, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Features: features})
		})
		v.must(err)
	}
	media(&emulation.MediaFeature{Name: "prefers-reduced-motion", Value: "reduce"})
	if n := v.js(`document.getAnimations().length`); n != "0" {
		v.t.Errorf("%s: %s things move where less motion is asked for", where, n)
	}
	media()
}

// byAxe has the accessibility checker of that name look, where it is there.
func (v *views) byAxe(where, form string) {
	v.t.Helper()
	if v.axe == "" {
		return
	}
	rules := "{}"
	if form != "dark" { // all but colours is the same
		rules = `{runOnly: ["color-contrast"]}`
	}
	v.js(`void (async () => { globalThis.found = ""; globalThis.found = JSON.stringify((await axe.run(` + rules + `)).violations.map((v) => ({id: v.id, impact: v.impact, nodes: v.nodes.map((n) => n.html + " " + n.failureSummary)}))); })()`)
	v.until(`globalThis.found !== ""`)
	var found []struct {
		ID, Impact string
		Nodes      []string
	}
	if err := json.Unmarshal([]byte(v.js("globalThis.found")), &found); err != nil {
		v.t.Fatal(err)
	}
	for _, f := range found {
		if f.Impact == "serious" || f.Impact == "critical" {
			v.t.Errorf("%s, %s form: %s %s: %.600s", where, form, f.Impact, f.ID, strings.Join(f.Nodes, "\n"))
		} else {
			v.t.Logf("%s, %s form: %s %s: %.200s", where, form, f.Impact, f.ID, f.Nodes)
		}
	}
}

// shot keeps a picture of all of the page, where a folder for pictures is named.
func (v *views) shot(name string) {
	v.t.Helper()
	if v.shots == "" {
		return
	}
	v.js(`scrollTo(0, 0)`)
	take := chromedp.FullScreenshot(100)
	if v.js(`document.querySelector("dialog[open]")`) != "null" { // it stands where the screen is, and is as high as that
		take = chromedp.CaptureScreenshot()
	}
	png, err := chromedp.Run(v.ctx, take)
	v.must(err)
	v.must(os.WriteFile(filepath.Join(v.shots, "view "+name+".png"), png, 0o644))
}
