// Small tools for the document.

export const $ = (id) => document.getElementById(id);

/** text sets an element's text, and touches nothing when it is the same. */
export function text(e, s) { if (e.textContent !== s) e.textContent = s; }

/** aside says how many readings of a fixture do not count, behind how many do. */
export const aside = (row) => row.set_aside ? ` + ${row.set_aside} aside` : "";

/** many says how many there are of something. */
export function many(n, of) { return `${n} ${of}${n === 1 ? "" : "s"}`; }

export function show(e, yes) { if (e.hidden === yes) e.hidden = !yes; }

const away = new WeakSet();
let watch;
/** seen tells whether an element is on the screen or near it. What is not need not be drawn; again is called when it comes. */
export function seen(e) { return !away.has(e); }
export function minds(e, again) {
  watch ??= new IntersectionObserver((all) => {
    for (const x of all) { const was = away.has(x.target); if (x.isIntersecting) away.delete(x.target); else away.add(x.target); if (was && x.isIntersecting) x.target.dispatchEvent(new Event("seen")); }
  }, { rootMargin: "200px" });
  e.addEventListener("seen", again);
  watch.observe(e);
}

/** make builds an element with attributes and children. */
export function make(name, attrs = {}, ...inside) {
  const e = document.createElement(name);
  put(e, attrs);
  e.append(...inside);
  return e;
}

/** draw builds an SVG element. */
export function draw(name, attrs = {}, said) {
  const e = document.createElementNS("http://www.w3.org/2000/svg", name);
  put(e, attrs);
  if (said !== undefined) e.textContent = said;
  return e;
}

function put(e, attrs) {
  for (const [k, v] of Object.entries(attrs)) {
    if (k.startsWith("on")) e.addEventListener(k.slice(2), v);
    else if (v === true) e.setAttribute(k, "");
    else if (v !== false && v !== undefined) e.setAttribute(k, v);
  }
}

let toast;
/** say shows a sentence for a few seconds. */
export function say(words, seconds = 5) {
  const e = $("said-now");
  text(e, words);
  show(e, true);
  clearTimeout(toast);
  toast = setTimeout(() => show(e, false), seconds * 1000);
}

/** open shows a dialog, and leaves the rest of the page alive: a modal one would lock Stop away. Escape closes it. */
export function open(dialog) {
  for (const d of document.querySelectorAll("dialog[open]")) d.close("no");
  const from = document.activeElement;
  dialog.returnValue = "no";
  dialog.show();
  dialog.scrollTop = 0;
  const escape = (e) => { if (e.key === "Escape") dialog.close("no"); };
  addEventListener("keydown", escape);
  dialog.addEventListener("close", () => { removeEventListener("keydown", escape); from?.focus?.({ preventScroll: true }); }, { once: true });
}

/** sure asks before something that can not be taken back. */
export function sure(question, words, yes) {
  const d = $("sure");
  text($("sure-h"), question);
  text($("sure-words"), words);
  text($("sure-yes"), yes);
  open(d);
  return new Promise((done) => d.addEventListener("close", () => done(d.returnValue === "yes"), { once: true }));
}

export const uv = (v) => (v === undefined || v === null ? "" : v.toFixed(4));

/** when is a moment as the report writes it, whatever the browser's language: day, month, year, and a clock of 24 hours. */
export function when(t) { return new Date(t).toLocaleString("en-GB", { day: "numeric", month: "short", year: "numeric", hour: "2-digit", minute: "2-digit" }); }

/** clock is the time of day, of 24 hours. */
export function clock(t) { return new Date(t).toLocaleTimeString("en-GB"); }

/** lasts says seconds as people do. */
export function lasts(s) {
  if (s < 60) return `${Math.round(s)} s`;
  if (s < 5400) return `${Math.round(s / 60)} min`;
  return `${(s / 3600).toFixed(1)} h`;
}
