import { $, aside, make, many, text, uv } from "./dom.js";
import { sign } from "./words.js";

/** List shows every fixture in a line of its own. */
export class List {
  constructor(ul, chosen) { this.ul = ul; this.chosen = chosen; this.items = []; this.at = -1; }

  build(state) {
    this.items = state.fixtures.map((f, i) => {
      const mark = make("span", { class: "mark", "aria-hidden": "true" }), n = make("span", { class: "n" }), how = make("span", { class: "how" });
      const b = make("button", { type: "button", onclick: () => this.chosen(i) }, mark, make("span", { class: f.idle ? "who idle" : "who" }, f.name), n, how);
      return { li: make("li", {}, b), b, mark, n, how };
    });
    this.ul.replaceChildren(...this.items.map((x) => x.li));
    this.at = -1;
  }

  paint(state, changed) {
    for (const i of changed) {
      const x = this.items[i], r = state.rows[i];
      if (!x) continue;
      text(x.mark, sign(r, state.fixtures[i].idle));
      text(x.n, uv(r.now_uv));
      text(x.how, [r.state, r.words, r.readings || r.set_aside ? many(r.readings, "reading") + aside(r) : ""].filter(Boolean).join("; "));
    }
    const t = state.top;
    text($("tally"), t.of ? "Δu′v′ from the target" : state.fixtures.length ? `${state.fixtures.length}, Δu′v′ from the target` : "known once a run begins");
    text($("lamps-h").firstChild, t.of ? `Fixtures ${t.done}/${t.of} ` : "Fixtures ");
  }

  current(i) {
    if (i === this.at) return;
    this.items[this.at]?.b.removeAttribute("aria-current");
    this.items[i]?.b.setAttribute("aria-current", "true");
    this.at = i;
  }
}
