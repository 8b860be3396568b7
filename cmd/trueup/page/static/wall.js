import { $, draw, show, text } from "./dom.js";

const w = 46, h = 30;

/** Wall shows fixtures in a grid as the wall has them: the distance from the target, or the level beside the mean of
 * those that the same probe sees. Each cell has its figure, so that nothing rests on shades alone. */
export class Wall {
  constructor(svg, words, chosen) { this.svg = svg; this.words = words; this.chosen = chosen; this.level = false; this.cells = new Map(); }

  build(state) {
    const placed = state.fixtures.map((f, i) => [f, i]).filter(([f]) => f.col > 0 && f.row > 0 && f.col <= 100 && f.row <= 100);
    this.cells.clear();
    show($("wall"), placed.length > 1);
    const cols = Math.max(0, ...placed.map(([f]) => f.col)), rows = Math.max(0, ...placed.map(([f]) => f.row)), taken = new Set();
    this.svg.setAttribute("viewBox", `0 0 ${cols * w} ${rows * h}`);
    this.svg.setAttribute("width", Math.min(cols * w * 1.4, 1100));
    this.svg.replaceChildren();
    for (const [f, i] of placed) {
      const at = `${f.col},${f.row}`;
      if (taken.has(at)) continue; // heads share a place: the first stands for it
      taken.add(at);
      const x = (f.col - 1) * w, y = (f.row - 1) * h;
      const g = draw("g"), rect = draw("rect", { x: x + 1, y: y + 1, width: w - 2, height: h - 2, stroke: "var(--line)", fill: "var(--mark)" }), t = draw("text", { x: x + w / 2, y: y + h / 2 + 4, fill: "var(--ink)" });
      // The figure stands on a plate of the ground's colour: on no shade would it stand out by 7 to 1 in both forms.
      g.append(draw("title", {}, f.name), rect, draw("rect", { x: x + 5, y: y + 7, width: w - 10, height: h - 14, fill: "var(--ground)" }), t);
      g.addEventListener("click", () => this.chosen(i));
      this.svg.append(g);
      this.cells.set(i, { rect, t });
    }
  }

  paint(state, changed) {
    if (!this.cells.size) return;
    const means = new Map(), tol = state.top.tolerance_uv || 0.001;
    if (this.level) {
      for (const i of this.cells.keys()) {
        const r = state.rows[i], p = state.fixtures[i].probe, m = means.get(p) ?? [0, 0];
        if (r.lux) means.set(p, [m[0] + r.lux, m[1] + 1]);
      }
      changed = [...this.cells.keys()]; // a mean moves all
    }
    for (const i of changed) {
      const cell = this.cells.get(i), r = state.rows[i];
      if (!cell) continue;
      let shade, words = "·";
      if (this.level && r.lux) {
        const [sum, n] = means.get(state.fixtures[i].probe), d = r.lux / (sum / n) - 1, percent = Math.round(100 * d);
        shade = Math.abs(d) / 0.1; words = percent === 0 ? "0" : `${d < 0 ? "−" : "+"}${Math.abs(percent)}`; // "%" would not fit on the plate
      } else if (!this.level && r.now_uv !== undefined) { shade = r.now_uv / (3 * tol); words = (1000 * r.now_uv).toFixed(1); }
      const fill = shade === undefined ? "0" : (0.9 * Math.min(1, shade)).toFixed(2);
      if (fill !== cell.fill) { cell.fill = fill; cell.rect.setAttribute("fill-opacity", fill); }
      text(cell.t, words);
    }
    text(this.words, this.level ? "Level of each beside the mean of those that the same probe sees, in percent. Brighter is farther from the mean." : `Distance from the target in thousandths of u′v′; the tolerance is ${(1000 * tol).toFixed(1)}. Brighter is farther; a dot was not read.`);
  }
}
