import { aside, draw, make, seen, uv } from "./dom.js";

const size = 300, half = size / 2, edge = 14;

/** Picture draws the CIE 1976 diagram about the target: tolerance, the Planckian locus, all fixtures, and the path
 * of one. */
export class Picture {
  constructor(svg, detail) { this.svg = svg; this.detail = detail; this.factor = 1; }

  zoom(by) { this.factor = Math.min(64, Math.max(1 / 8, this.factor * by)); }

  paint(state, at) {
    const t = state.top, row = state.rows[at], fixture = state.fixtures[at];
    this.words(fixture, row, t);
    if (!seen(this.svg)) return;
    const key = JSON.stringify([t.reference, t.tolerance_uv, at, this.factor, state.rows.map((r) => r.at), row?.sd_uv, row?.result]);
    if (key === this.key) return;
    this.key = key;
    const ref = t.reference, path = state.paths[at] ?? [];
    const middle = ref ? [ref.u_prime, ref.v_prime] : row?.at ?? state.rows.find((r) => r.at)?.at;
    if (!middle) { this.svg.replaceChildren(draw("text", { x: half, y: half, "text-anchor": "middle" }, "no reading yet")); this.label("no reading yet"); return; }
    let reach = Math.max(0.004, 5 * (t.tolerance_uv || 0.001));
    for (const p of path.slice(-8)) reach = Math.max(reach, 1.15 * Math.hypot(p[0] - middle[0], p[1] - middle[1]));
    reach = Math.min(0.35, reach * this.factor);
    const scale = (half - edge) / reach;
    const put = (p) => [half + (p[0] - middle[0]) * scale, half - (p[1] - middle[1]) * scale];
    const inside = ([x, y]) => x > 2 && y > 2 && x < size - 2 && y < size - 2;
    const parts = [...this.ground(reach, scale, ref, put)];
    if (ref) {
      const r = t.tolerance_uv * scale;
      parts.push(draw("circle", { class: "ring", cx: half, cy: half, r: Math.max(r, 1.5) }));
      parts.push(draw("path", { class: "cross", d: `M${half - 4} ${half}h8M${half} ${half - 4}v8` }));
    }
    let others = ""; // rings, as one path in the place of hundreds of elements
    state.rows.forEach((r, i) => {
      if (!r.at || i === at) return;
      const p = put(r.at);
      if (inside(p)) others += `M${(p[0] - 2.5).toFixed(1)} ${p[1].toFixed(1)}a2.5 2.5 0 1 0 5 0a2.5 2.5 0 1 0 -5 0`;
    });
    if (others) parts.push(draw("path", { class: "other", d: others }));
    if (path.length) {
      const line = path.map((p) => put(p).map((v) => v.toFixed(1)).join(" "));
      parts.push(draw("path", { class: "path", d: `M${line.join("L")}` }));
      for (const p of path.slice(0, -1)) { const [x, y] = put(p); if (inside([x, y])) parts.push(draw("circle", { class: "step", cx: x.toFixed(1), cy: y.toFixed(1), r: 1.8 })); }
    }
    if (row?.at) {
      const [x, y] = put(row.at);
      // 95 % of a Gaussian of two axes lie within 2.45 standard deviations.
      if (row.sd_uv > 0) parts.push(draw("circle", { class: "doubt", cx: x, cy: y, r: Math.max(2, 2.45 * row.sd_uv * scale) }));
      if (inside([x, y])) parts.push(draw("circle", { class: "here", cx: x, cy: y, r: 5 }));
      else parts.push(this.arrow(x, y));
    }
    this.svg.replaceChildren(...parts);
    this.label(row?.now_uv === undefined ? `${fixture?.name ?? ""}: no distance yet` : `${fixture.name} stands ${uv(row.now_uv)} from the target; the ring is the tolerance, ${uv(t.tolerance_uv)}`);
  }

  label(words) { if (this.svg.getAttribute("aria-label") !== words) this.svg.setAttribute("aria-label", words); }

  /** ground is a scale bar, and which way is cooler and greener. */
  *ground(reach, scale, ref, put) {
    if (ref?.locus?.length > 1) {
      yield draw("path", { class: "locus", d: `M${ref.locus.map((p) => put(p).map((v) => v.toFixed(1)).join(" ")).join("L")}` });
      const [cool, warm] = [put(ref.locus.at(-1)), put(ref.locus[0])];
      yield this.sense(cool, "cooler"); yield this.sense(warm, "warmer");
    }
    if (ref?.greener) {
      const g = put(ref.greener), m = [2 * half - g[0], 2 * half - g[1]];
      yield this.sense(g, "greener"); yield this.sense(m, "magenta");
    }
    const bar = [0.0005, 0.001, 0.002, 0.005, 0.01, 0.02, 0.05, 0.1].find((b) => b >= reach / 3) ?? 0.1;
    yield draw("path", { class: "axis", d: `M8 ${size + 16}v-4h${(bar * scale).toFixed(1)}v4M0 ${size}h${size}` }); // below the picture, where no word is
    yield draw("text", { x: 16 + bar * scale, y: size + 18 }, `${bar} u′v′`);
  }

  /** sense writes a word at the rim, in the direction of a point. */
  sense([x, y], word) {
    const dx = x - half, dy = y - half, k = (half - 24) / Math.max(1e-9, Math.abs(dx), Math.abs(dy));
    return draw("text", { x: (half + dx * k).toFixed(1), y: (half + dy * k + 4).toFixed(1), "text-anchor": "middle" }, word);
  }

  /** arrow points to where the fixture stands, out of the picture. */
  arrow(x, y) {
    const a = Math.atan2(y - half, x - half), k = (half - 10) / Math.max(Math.abs(Math.cos(a)), Math.abs(Math.sin(a)));
    const px = half + Math.cos(a) * k, py = half + Math.sin(a) * k;
    return draw("path", { class: "here", d: "M8 0L-6 -6L-6 6z", transform: `translate(${px.toFixed(1)} ${py.toFixed(1)}) rotate(${(a * 180 / Math.PI).toFixed(0)})` });
  }

  words(fixture, row, t) {
    const key = JSON.stringify([fixture, row, t.phase]);
    if (key === this.said) return;
    this.said = key;
    document.getElementById("shown").textContent = fixture ? fixture.name : "";
    if (!fixture) { this.detail.replaceChildren(); return; }
    const all = [["state", row.state], ["as found", row.found_uv === undefined ? (row.unread ? "not read" : "") : `${uv(row.found_uv)}${row.found_computed ? ", computed" : ""}`], ["now", row.now_uv === undefined ? "" : `${uv(row.now_uv)}${row.sd_uv ? ` ± ${uv(row.sd_uv)}` : ""}`], ["in words", row.words],
      ["what would help", row.advice], ["set to", row.settings], ["light", row.lux ? `${row.lux.toPrecision(3)} lux at the probe` : ""], ["readings", row.readings || row.set_aside ? `${row.readings}${aside(row)}` : ""],
      ["patch", [fixture.address, fixture.profile, fixture.mode].filter(Boolean).join(", ")], ["probe", fixture.probe]];
    this.detail.replaceChildren(...all.filter(([, v]) => v).flatMap(([k, v]) => [make("dt", {}, k), make("dd", {}, String(v))]));
  }
}
