import { $, make, say, show, text } from "./dom.js";

const keys = ["7", "8", "9", "⌫", "4", "5", "6", "−", "1", "2", "3", "+", "0", ".", "gap", "clear"];

/** Question is what a person at the lamp is asked: what to dial, and what the meter shows. */
export class Question {
  constructor(send) {
    this.send = send;
    this.id = 0;
    this.sent = 0; // the question that was answered last: it stays closed, and the next one is open at once
    $("keys").append(...keys.map((k) => make("button", { type: "button", "aria-label": { "⌫": "delete", "−": "minus", "+": "plus" }[k] ?? k, onclick: () => this.key(k) }, k)));
    $("pad").addEventListener("submit", (e) => { e.preventDefault(); this.answer(this.typed()); });
    $("typed").addEventListener("input", () => this.ready());
  }

  typed() { return $("typed").value.trim().replaceAll("−", "-"); }

  key(k) {
    const e = $("typed");
    if (k === "⌫") e.value = e.value.slice(0, -1);
    else if (k === "clear") e.value = "";
    else e.value += k === "gap" ? " " : k === "−" ? "-" : k;
    this.ready();
  }

  closed() { return this.sent === this.id; }

  ready() { const b = $("read-it"); if (b) b.disabled = this.closed() || !this.typed(); }

  async answer(words) {
    if (this.closed()) return;
    const id = this.sent = this.id;
    this.buttons();
    try { await this.send(id, words); } catch (e) {
      say(e.message);
      if (this.sent === id) this.sent = 0;
      this.buttons();
    }
  }

  buttons() { for (const b of document.querySelectorAll("#answers button, #yes button")) b.disabled = this.closed(); this.ready(); }

  paint(q, operates) {
    show($("question"), Boolean(q));
    const key = JSON.stringify([q?.id, operates]);
    if (key === this.key_) return;
    this.key_ = key;
    if (q && q.id !== this.id) $("typed").value = "";
    this.id = q?.id ?? 0;
    $("question").dataset.id = this.id;
    if (!q) return;
    const dial = q.kind === "dial", put = q.kind === "place", meter = q.probe ? `the meter at ${q.probe}` : "the meter", at = q.lamp ? `${q.lamp}: ${meter}` : meter[0].toUpperCase() + meter.slice(1);
    text($("place"), q.place && !put ? q.place : "");
    text($("question-h"), put ? `${q.place[0].toUpperCase()}${q.place.slice(1)}` : dial ? `${q.lamp}: set` : q.dark ? `With the fixtures out, ${meter} shows` : `${at} shows`);
    $("dials").replaceChildren(...(q.dials ?? []).map((d) => make("p", {}, d.name, make("span", {}, ...(d.was ? [make("s", {}, `${d.was} → `)] : []), make("b", {}, d.set)))));
    text($("problem"), q.problem ?? "");
    text($("understood"), q.understood ? `understood: ${q.understood}` : "");
    show($("pad"), !dial && !put && operates);
    const go = (words, label, big, id) => make("button", { type: "button", class: big ? "big" : "", id, onclick: () => this.answer(typeof words === "function" ? words() : words) }, label);
    const all = [];
    if (dial) all.push(go("", "It is set", true, "is-set"));
    if (dial && q.skip) all.push(go("skip", "Leave this fixture", false, "skip-lamp"));
    show($("yes"), Boolean(!dial && q.understood && operates)); // above the pad, where the eye is
    $("yes").replaceChildren(...(!dial && q.understood && operates ? [go("", "Yes, that is right", true, "is-right")] : []));
    if (put) all.push(go("", "It is there: read", true, "is-there"));
    if (!dial && !put) all.push(go(() => this.typed(), q.understood ? "No: take what I typed" : "Read it so", !q.understood, "read-it"));
    if (!dial && q.dark && !q.understood) all.push(go("dark", "It shows nothing", false, "is-dark"));
    if (!dial && q.any && !q.understood) all.push(go("none", "It shows no figures", false, "is-none"));
    if (!dial && !put && q.skip) all.push(go("skip", "Leave this fixture", false, "skip-read"));
    if (q.undo) all.push(go("undo", "Undo the value before", false, "undo"));
    $("answers").replaceChildren(...(operates ? all : [make("p", { class: "soft" }, "Whoever operates answers this.")]));
    this.buttons();
    if (!operates) return;
    (put ? $("is-there") : dial ? $("is-set") : q.understood ? $("is-right") : $("typed")).focus({ preventScroll: true });
    $("question").scrollIntoView({ block: "start" }); // on a phone whose light it is and the button are seen at once
  }
}
