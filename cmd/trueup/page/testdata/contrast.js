// What is written on the page and does not stand out: by WCAG 2.2, 1.4.3 and 1.4.6, text by 4.5 to 1, here of any size and of what can not be pressed
// too, and a measured figure, or one to dial, by 7 to 1.
(() => {
  const read = (c) => { const m = c.match(/[\d.]+/g).map(Number); return [m[0], m[1], m[2], m[3] ?? 1]; };
  const over = (top, a, under) => under.map((u, i) => top[i] * a + u * (1 - a));
  const light = (c) => { const [r, g, b] = c.map((v) => { v /= 255; return v <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4; }); return 0.2126 * r + 0.7152 * g + 0.0722 * b; };
  const ratio = (a, b) => { const [x, y] = [light(a), light(b)].sort((p, q) => q - p); return (x + 0.05) / (y + 0.05); };
  // ground is what lies under an element's text.
  const ground = (e) => {
    if (!e) return [255, 255, 255];
    const s = getComputedStyle(e), plate = e.tagName === "text" && e.previousElementSibling?.tagName === "rect" ? e.previousElementSibling : null;
    if (plate) { const r = getComputedStyle(plate), f = read(r.fill); return over(f, f[3] * Number(r.fillOpacity), ground(plate.ownerSVGElement)); }
    const b = read(s.backgroundColor), under = b[3] === 1 ? [0, 0, 0] : ground(e.parentElement);
    return over(b, b[3], under);
  };
  const faults = new Set();
  const judge = (e, words) => {
    if (!words.trim() || !e.checkVisibility({ opacityProperty: true, visibilityProperty: true })) return;
    const s = getComputedStyle(e), g = ground(e), c = read(e instanceof SVGElement ? s.fill : s.color);
    let a = c[3];
    for (let x = e; x; x = x.parentElement) a *= Number(getComputedStyle(x).opacity);
    const figure = /\d/.test(words) && e.closest("#delta, .list .n, .dials b, #typed, #map text, .understood, .spread");
    const is = ratio(over(c, a, g), g), want = figure ? 7 : 4.5;
    if (is < want) faults.add(`${e.tagName.toLowerCase()}${e.id ? "#" + e.id : ""} ${JSON.stringify(words.trim().slice(0, 40))}: ${is.toFixed(2)}, want ${want}`);
  };
  const walk = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  while (walk.nextNode()) if (!["SCRIPT", "STYLE", "OPTION", "OPTGROUP", "title"].includes(walk.currentNode.parentElement.tagName)) judge(walk.currentNode.parentElement, walk.currentNode.data);
  for (const e of document.querySelectorAll("input:not([type=checkbox], [type=radio]), select")) judge(e, e.value || e.placeholder || "");
  return [...faults].join("\n");
})()
