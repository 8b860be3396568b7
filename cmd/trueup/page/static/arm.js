import { ask } from "./server.js";
import { $, make, many, open, show, text, when } from "./dom.js";
import { works } from "./words.js";

const usualWatch = 8; // seconds, as the label and the advice after a match say

/** arming leads from what is wished to a run: what would be driven is shown first, with limits and cautions. */
export function arming(page) {
  const dialog = $("arm");
  let choices, earlier = [], plan;

  // brokeOff tells of a run that can be gone on with: others are begun anew.
  const brokeOff = (r) => !r.complete && ["match", "survey", "verify", "by hand"].includes(r.work);

  const work = () => dialog.querySelector('input[name="work"]:checked')?.value;

  const step = (second) => { show($("order"), !second); show($("plan"), second); dialog.scrollTop = 0; };

  const fault = (id, words) => { text($(id), words); show($(id), Boolean(words)); };

  function fits() {
    const w = work();
    show($("aim-block"), w === "match" || w === "survey" || w === "by hand");
    const common = $("target").querySelector('[value="common"]');
    if (common) common.hidden = common.disabled = w !== "match"; // others go to what a match has gone to
    if (common?.disabled && common.selected) { $("target").value = ""; aims(); }
    show($("watch-block"), w === "match");
    show($("only-block"), w === "match" || w === "survey" || w === "by hand" || w === "verify");
    const runs = earlier.filter((r) => (w === "resume" ? brokeOff(r) : r.work === "match"));
    show($("run-block"), w === "verify" || w === "points" || w === "recall" || w === "resume");
    show($("points-block"), w === "points");
    show($("probe-block"), choices.probes.length > 1);
    $("run").replaceChildren(...runs.map((r) => make("option", { value: r.name }, `${when(r.began)} ${r.work}, ${r.target}`)));
    const none = !$("run-block").hidden && runs.length === 0;
    fault("order-said", none ? (w === "resume" ? "No run has broken off." : "No run of this rig has matched yet.") : "");
    $("order-go").disabled = none;
  }

  $("begin-run").addEventListener("click", async () => {
    step(false);
    fault("order-said", "");
    $("works").replaceChildren($("works").firstElementChild); // what was offered last time may not be there any more
    $("order-go").disabled = true; // until it is known what there is to choose from
    open(dialog);
    try {
      [choices, earlier] = await Promise.all([ask("/api/choices"), ask("/api/runs")]);
    } catch (e) { fault("order-said", e.message); return; }
    const broken = earlier.length && brokeOff(earlier[0]);
    const offered = choices.works.filter((w) => w !== "resume" || earlier.some(brokeOff));
    const first = broken ? "resume" : offered[0];
    $("works").replaceChildren($("works").firstElementChild, ...offered.map((w) => make("label", { class: "pick" },
      make("input", { type: "radio", name: "work", value: w, checked: w === first, onchange: fits }), make("span", {}, works[w][0], make("small", {}, works[w][1])))));
    $("target").replaceChildren(make("option", { value: "" }, `as the rig file says: ${choices.target}`), make("option", { value: "colour" }, "a colour …"), make("option", { value: "common" }, "what all can reach, near a colour …"),
      make("optgroup", { label: "the light of" }, ...choices.fixtures.map((f) => make("option", { value: `fixture ${f}` }, f))));
    aims();
    $("probe").replaceChildren(make("option", { value: "" }, "which one …"), ...choices.probes.map((p) => make("option", { value: p }, p)));
    $("only").replaceChildren(...choices.fixtures.map((f) => make("label", { class: "check" }, make("input", { type: "checkbox", value: f, checked: true, onchange: count }), f)));
    $("groups").replaceChildren(...[{ name: "all", fixtures: choices.fixtures }, ...choices.groups].map((g) => make("button", { type: "button", onclick: () => { for (const b of boxes()) b.checked = g.fixtures.includes(b.value); count(); } }, g.name)));
    count();
    fits();
  });

  const boxes = () => [...$("only").querySelectorAll("input")];
  function count() { const n = boxes().filter((b) => b.checked).length; text($("only-block").firstElementChild, `Which fixtures (${n === boxes().length ? "all" : `${n} of ${boxes().length}`})`); }

  // aims asks for a colour where the choice of what to match to needs one.
  function aims() {
    const t = $("target").value;
    show($("colour-block"), t === "colour" || t === "common");
    text($("colour-l"), t === "common" ? "Near which colour (empty: as the rig file says)" : "Colour, such as 4300 K duv -0.002");
  }
  $("target").addEventListener("change", aims);

  $("order").addEventListener("submit", async (e) => {
    e.preventDefault();
    const order = { work: work() }, target = $("target").value, chosen = boxes().filter((b) => b.checked).map((b) => b.value);
    if (!$("aim-block").hidden && (target === "colour" || target === "common")) order.color = $("colour").value.trim();
    if (!$("aim-block").hidden && target === "common") order.best_common = true;
    if (!$("aim-block").hidden && target.startsWith("fixture ")) order.reference = target.slice(8);
    if (!$("run-block").hidden) order.run = $("run").value;
    if (!$("points-block").hidden) { order.points = $("points").value.trim(); if (choices.probes.length > 1) order.probe = $("probe").value; }
    if (!$("watch-block").hidden && $("watch").value === "each") order.watch_s = usualWatch;
    if (!$("watch-block").hidden && $("watch").value === "none") order.watch_none = true;
    const sent = !$("only-block").hidden && chosen.length < boxes().length;
    if (sent) order.only = chosen.filter((n) => n !== (order.reference ?? choices.reference));
    if (sent && !order.only.length) { fault("order-said", "Choose a fixture."); return; }
    try { plan = await ask("/api/plan", order); } catch (x) { fault("order-said", x.message); return; }
    text($("plan-what"), `${works[plan.work]?.[0] ?? plan.work} of ${plan.rig}, to ${plan.target}, tolerance ${plan.tolerance_uv.toFixed(4)}, level ${Math.round(100 * plan.level_fraction)} %. ${plan.output}.`);
    fault("plan-loud", plan.loud ?? "");
    $("plan-notes").replaceChildren(...(plan.notes ?? []).map((n) => make("li", {}, n)));
    const driven = plan.drives.filter((d) => d.slots);
    text($("plan-count"), plan.moves_light ? `${many(driven.length, "head")} will be driven` : `${many(plan.drives.length, "fixture")}, set by hand`);
    $("plan-drives").replaceChildren(...plan.drives.map((d) => make("li", {}, `${d.name}: ${d.slots ? `${d.slots}, level cap ${Math.round(100 * d.level_cap)} %` : "not driven"}; ${d.profile} ${d.mode}`)));
    $("plan-limits").replaceChildren(...plan.limits.map((l) => make("li", {}, l)));
    text($("plan-cautions"), plan.cautions.replace(/\n(?!\n|-)\s*/g, " ")); // its lines are a terminal's
    text($("go"), plan.moves_light ? "Move light" : "Begin");
    $("clear").checked = false;
    $("go").disabled = true;
    fault("start-said", "");
    step(true);
  });

  $("clear").addEventListener("change", () => { $("go").disabled = !$("clear").checked; });
  $("back").addEventListener("click", () => step(false));
  $("start").addEventListener("submit", async (e) => {
    e.preventDefault();
    $("go").disabled = true;
    try { await ask("/api/start", { plan: plan.id, clear: $("clear").checked }); dialog.close(); scrollTo(0, 0); } catch (x) { fault("start-said", x.message); $("go").disabled = false; }
  });
}
