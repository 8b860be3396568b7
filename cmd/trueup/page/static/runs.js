import { ask } from "./server.js";
import { $, make, text, when } from "./dom.js";

const names = { "report.html": "report", "settings.csv": "settings sheet (CSV)", "settings.json": "settings sheet (JSON)", "journal.jsonl": "journal" };

/** listRuns shows what can be handed over. */
export async function listRuns() {
  let all;
  try { all = await ask("/api/runs"); } catch { return; }
  $("runs").replaceChildren(...all.map((r) => {
    const base = `/api/runs/${encodeURIComponent(r.name)}`;
    const links = r.files.map((f) => make("a", f === "report.html" ? { href: `${base}/${f}`, target: "_blank", rel: "noopener" } : { href: `${base}/${f}`, download: `${r.name}-${f}` }, names[f] ?? f));
    if (r.work === "match") links.push(make("button", { type: "button", onclick: (e) => cue(e.target.parentElement, base) }, "cue …"));
    return make("li", {}, make("div", {}, `${when(r.began)}: ${r.work} to ${r.target}${r.complete ? "" : " (broke off)"}`), make("div", { class: "soft" }, r.lead), make("div", {}, ...links));
  }));
  if (!all.length) $("runs").append(make("li", { class: "soft" }, "none yet"));
}

/** cue asks for the number of a cue that is free in the show. */
function cue(where, base) {
  const n = make("input", { inputmode: "decimal", "aria-label": "number of the cue, free in your show", placeholder: "cue number, such as 901", maxlength: "16" });
  const by = make("input", { type: "checkbox" }), said = make("p", { role: "alert" });
  const form = make("form", {}, make("label", {}, "Cue number, free in your show", n), make("label", { class: "check" }, by, "count channels by address"), make("button", {}, "Download the cue"), said,
    make("p", { class: "soft" }, "A cue changes the light when the desk plays it: warn people, and look at the stage."));
  form.addEventListener("submit", async (e) => {
    e.preventDefault();
    const url = `${base}/cue?cue=${encodeURIComponent(n.value.trim())}&by_address=${by.checked}`;
    try { await ask(url); } catch (x) { text(said, x.message); return; }
    const a = make("a", { href: url, download: "" });
    a.click();
    form.remove();
  });
  where.append(form);
  n.focus();
}
