import { act, ask, listen } from "./server.js";
import { $, say, show, sure, text, make, many, minds, seen, lasts, clock } from "./dom.js";
import { phases, works, sign, isBusy } from "./words.js";
import { Picture } from "./diagram.js";
import { List } from "./list.js";
import { Wall } from "./wall.js";
import { Question } from "./question.js";
import { arming } from "./arm.js";
import { menu } from "./menu.js";
import { listRuns } from "./runs.js";
import { keepAwake } from "./awake.js";

const page = { state: null, me: null, live: false, at: -1, followed: true };
const runs = (top) => top.phase !== "idle" && top.phase !== "over";
const operates = () => !page.state?.top.operator || page.state.top.operator.id === page.me?.you.id;

const picture = new Picture($("diagram"), $("detail"));
const list = new List($("list"), (i) => choose(i, false));
const wall = new Wall($("map"), $("map-words"), (i) => choose(i, false));
const question = new Question((id, words) => ask("/api/answer", { question: id, text: words }));

// ---- what is heard ----

function whole(state) {
  page.state = state;
  if (page.at >= state.fixtures.length) page.at = -1;
  list.build(state);
  wall.build(state);
  log(state.log, true);
  delete state.log; // the document holds it
  document.title = `${state.top.rig} – trueup`;
  later(null);
}

function change(c) {
  const s = page.state;
  if (!s) return;
  if (c.top) s.top = c.top;
  for (const [k, row] of Object.entries(c.rows ?? {})) {
    const i = Number(k), was = s.rows[i];
    if (row.at && (!was.at || row.at[0] !== was.at[0] || row.at[1] !== was.at[1])) {
      const path = s.paths[i];
      if (path.length < 40) path.push(row.at); else { path.copyWithin(0, 1); path[39] = row.at; } // in place: to push and shift moves the store of each about, and grows it
    }
    s.rows[i] = row;
  }
  if (c.log?.length) log(c.log, false);
  later(c.rows ? Object.keys(c.rows).map(Number) : []);
}

// Everything is drawn once a frame at the most, and only what has changed.
let due = false, rows = new Set(), all = false;
function later(which) {
  if (which === null) all = true; else for (const i of which) rows.add(i);
  if (due) return;
  due = true;
  (document.hidden ? setTimeout : requestAnimationFrame)(paint);
}

function paint() {
  due = false;
  const s = page.state;
  if (!s) return;
  const changed = all ? s.rows.map((_, i) => i) : [...rows];
  all = false; rows = new Set();
  list.paint(s, changed);
  if (changed.length && seen($("map"))) wall.paint(s, changed);
  if (page.followed && s.top.at.length && !s.top.at.includes(page.at)) page.at = s.top.at[0];
  if (page.at < 0 && s.fixtures.length) page.at = Math.max(0, s.fixtures.findIndex((f) => !f.idle));
  list.current(page.at);
  picture.paint(s, page.at);
  now(s);
  health(s.top.health);
  elsewhere(s.top.elsewhere ?? []);
  question.paint(s.top.question, operates());
  keepAwake(runs(s.top));
}

// ---- what is shown of the whole ----

function now(s) {
  const t = s.top, i = t.at[0], row = s.rows[i], busyAt = runs(t) && row;
  text($("rig"), t.rig);
  const more = t.at.length > 1 ? ` and ${t.at.length - 1} more` : "";
  text($("doing"), t.phase === "holding" ? phases.holding : t.paused ? "Paused" : busyAt && t.phase === "working" ? `${s.fixtures[i].name}${more}: ${row.state}` : phases[t.phase] || works[t.work]?.[0] || t.work);
  text($("mark"), t.paused || t.phase === "holding" ? "‖" : busyAt ? sign(row) : "");
  $("mark").toggleAttribute("data-turns", Boolean(busyAt && isBusy(row) && !t.paused && t.phase === "working"));
  show($("figure"), Boolean(busyAt && row.now_uv !== undefined));
  if (busyAt && row.now_uv !== undefined) { text($("delta"), row.now_uv.toFixed(4)); text($("delta-unit"), "Δu′v′ from the target"); }
  text($("words"), (t.phase === "holding" ? "" : t.paused) || (busyAt ? row.words : t.lead) || t.stage || "");
  const left = t.left_s > 0 && runs(t) ? `; about ${lasts(t.left_s)} left (predicted)` : "";
  text($("course"), t.of ? `${t.done} of ${t.of} done, ${many(t.readings, "reading")}${left}` : "");
  $("bar").value = t.of ? t.done / t.of : 0;
  show($("bar"), t.of > 0);
  const ref = t.reference ? ` (${t.reference.words})` : "";
  text($("aim"), t.target ? `to ${t.target}${ref}, tolerance ${t.tolerance_uv.toFixed(4)}` : "");
  text($("spread"), [t.spread, t.phase === "over" && t.unwatched].filter(Boolean).join("\n"));
  const fault = t.phase === "over" ? [t.fault, t.lead && t.stage].filter(Boolean).join("\n") : "";
  text($("fault"), fault);
  show($("fault"), Boolean(t.fault && fault));
  show($("begin-run"), !runs(t) && page.me?.starts);
  show($("begin-check"), !runs(t) && page.me?.starts);
  show($("leave"), t.phase === "ending");
  show($("begin"), !runs(t) || t.phase === "ending");
  $("begin-run").disabled = !operates();
  $("leave").disabled = !operates();
  $("hold").disabled = !operates() || (t.phase !== "working" && t.phase !== "holding");
  $("skip").disabled = !operates() || t.phase !== "working" || !t.may_skip;
  text($("hold"), t.phase === "holding" ? "Go on" : "Hold");
  const who = !t.operator ? "" : operates() ? "you operate" : `${t.operator.name} operates, you look on`;
  linked.who = who;
  link();
  if (now.phase !== t.phase) { if (t.phase === "over" || now.phase === undefined) listRuns(); if (runs(t)) show($("checked"), false); now.phase = t.phase; }
}

function health(all) {
  const key = JSON.stringify(all);
  if (health.key === key) return;
  health.key = key;
  $("health").replaceChildren(...all.map((h) => make("li", {}, `${h.good ? "●" : "✕"} ${h.kind} ${h.name}: ${h.word}${h.why ? ` (${h.why})` : ""}`)));
  if (!all.length) $("health").append(make("li", { class: "soft" }, "is looked at while a run works"));
}

// elsewhere shows how the runs of other machines go. They are told of, not driven from here.
function elsewhere(all) {
  const key = JSON.stringify(all);
  if (elsewhere.key === key) return;
  elsewhere.key = key;
  show($("site"), all.length > 0);
  $("elsewhere").replaceChildren(...all.map((m) => {
    const work = works[m.work]?.[0] || m.work, going = m.phase !== "idle" && m.phase !== "over";
    const left = going && m.left_s > 0 ? `, about ${lasts(m.left_s)} left (predicted)` : "";
    const how = !m.online ? "not heard of any more; the last word was: " : "";
    const what = m.paused ? `paused: ${m.paused}` : going ? `${work} ${phases[m.phase] || ""} ${m.done} of ${m.of} done${left}` : m.fault || m.lead || phases[m.phase] || "";
    return make("li", m.paused || m.fault || !m.online ? { class: "shout" } : {}, `${m.online ? "●" : "✕"} ${m.machine}: ${m.rig ? m.rig + ", " : ""}${how}${what}`);
  }));
}

function log(lines, anew) {
  const e = $("log"), made = lines.map((l) => make("li", l.loud ? { class: "shout" } : {}, make("time", { datetime: l.time }, clock(l.time)), l.text));
  made.reverse(); // the newest first
  if (anew) e.replaceChildren(...made); else e.prepend(...made);
  while (e.childElementCount > 400) e.lastChild.remove();
}

// ---- whether it is live ----

const linked = { live: false, since: Date.now(), who: "" };
function link() {
  const e = $("link");
  e.dataset.live = document.documentElement.dataset.live = linked.live ? "yes" : "no";
  text(e, linked.live ? ["live", linked.who].filter(Boolean).join(", ") : "NOT LIVE");
  const s = Math.round((Date.now() - linked.since) / 1000);
  const old = !linked.live && page.state && s >= 2;
  if (old) text($("stale"), `Not live for ${lasts(s)}: what is shown here is old. It catches up by itself. Stop still tries to get through.`);
  show($("stale"), Boolean(old));
}
setInterval(link, 1000);

async function who() {
  try {
    page.me = await ask("/api/me");
    text($("program"), page.me.program);
    show($("pair"), false);
    presence(page.me.presence_s);
    later([]);
  } catch (e) { if (e.status === 401) await pair(); }
}

function presence(seconds) {
  clearInterval(presence.timer);
  if (seconds > 0) presence.timer = setInterval(() => { if (!document.hidden) act("here").catch(() => {}); }, seconds * 250);
}

// ---- the way in ----

async function pair() {
  const key = new URLSearchParams(location.hash.slice(1)).get("key");
  if (key) {
    history.replaceState(null, "", "/");
    if (await spend(key)) return;
  }
  show($("pair"), true);
  for (const id of ["now", "picture", "lamps", "outside", "said", "earlier"]) show($(id), false);
}

async function spend(key) {
  try { await ask("/api/pair", { key }); } catch (e) { text($("pair-said"), e.message); return false; }
  location.reload();
  return true;
}

$("pair-form").addEventListener("submit", (e) => { e.preventDefault(); spend($("pair-key").value.trim()); });

// ---- what is done ----

const doing = (name, words) => async () => { try { await act(name); if (words) say(words); } catch (e) { say(e.message); } };

// Stop is tried again until it gets through: whoever presses it must not have to look whether it did.
let stopping = 0;
$("stop").addEventListener("click", async () => {
  const mine = ++stopping;
  if (page.live && page.state && !runs(page.state.top)) { say("Nothing runs."); return; }
  for (let k = 0; k < 20 && mine === stopping; k++) {
    try { await ask("/api/stop", undefined, "POST", 3000); say("Stopping: the fixtures are handed back gently."); return; } catch (e) {
      if (e.status) { say(e.message); return; }
      say("STOP HAS NOT GOT THROUGH YET. It is tried again. Use Ctrl-C at the program, or the power switch.", 60);
      await new Promise((r) => setTimeout(r, 1000));
    }
  }
});
$("hold").addEventListener("click", () => doing(page.state?.top.phase === "holding" ? "go-on" : "hold")());
$("skip").addEventListener("click", doing("skip"));
$("leave").addEventListener("click", async () => {
  if (await sure("Leave the fixtures as they stand?", "Nothing is sent any more, at once. The fixtures then do what they do without data.", "Leave them")) doing("leave")();
});
$("begin-check").addEventListener("click", async () => {
  const e = $("checked"), b = $("begin-check");
  b.disabled = true;
  show(e, true);
  text(e, "looking at the rig, its feeds and its network …");
  try {
    const c = await ask("/api/check", undefined, "POST", 60000);
    // Sentences are broken to the screen's width; lines of a table keep their columns.
    const lines = `${c.ok ? "no fault found" : c.faults.map((f) => `FAULT: ${f}`).join("\n")}\n\n${c.text}`.split("\n");
    e.replaceChildren(...lines.flatMap((l) => [make("span", / {2}\S/.test(l.trim()) ? { class: "columns" } : {}, l), "\n"]));
  } catch (x) { text(e, x.message); }
  b.disabled = false;
});

function choose(i, follow) {
  const n = page.state?.fixtures.length ?? 0;
  if (n === 0) return;
  page.at = (i + n) % n;
  page.followed = follow;
  $("follow").setAttribute("aria-pressed", String(follow));
  later([]);
}
$("prev").addEventListener("click", () => choose(page.at - 1, false));
$("next").addEventListener("click", () => choose(page.at + 1, false));
$("follow").addEventListener("click", () => choose(page.state?.top.at[0] ?? page.at, true));
$("wider").addEventListener("click", () => { picture.zoom(2); later([]); });
$("closer").addEventListener("click", () => { picture.zoom(0.5); later([]); });
$("picture").addEventListener("keydown", (e) => { if (e.key === "ArrowLeft") choose(page.at - 1, false); else if (e.key === "ArrowRight") choose(page.at + 1, false); });
for (const [id, level] of [["wall-colour", false], ["wall-level", true]]) {
  $(id).addEventListener("click", () => {
    wall.level = level;
    $("wall-colour").setAttribute("aria-pressed", String(!level));
    $("wall-level").setAttribute("aria-pressed", String(level));
    if (page.state) wall.paint(page.state, page.state.rows.map((_, i) => i));
  });
}

// ---- the red-light form ----

function form(red) {
  document.documentElement.dataset.form = red ? "red" : "dark";
  document.querySelector('meta[name="theme-color"]').content = red ? "#000000" : "#14130f";
  $("form").setAttribute("aria-pressed", String(red));
  try { localStorage.setItem("form", red ? "red" : "dark"); } catch { /* private windows keep nothing */ }
}
let kept = null;
try { kept = localStorage.getItem("form"); } catch { /* as above */ }
form(kept === "red");
$("form").addEventListener("click", () => form(document.documentElement.dataset.form !== "red"));

minds($("diagram"), () => later([]));
minds($("map"), () => later(null));
arming(page);
menu(page);
await who();
if (page.me) {
  listen({
    state: whole, change,
    live: (yes, since) => { const back = yes && !linked.live && page.live === false; page.live = yes; linked.live = yes; linked.since = since; link(); if (back) who(); },
    stranger: () => { page.me = null; pair(); },
  });
}
