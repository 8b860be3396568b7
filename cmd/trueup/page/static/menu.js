import { act, ask } from "./server.js";
import { $, draw, make, open, say, show, text } from "./dom.js";

/** menu is who operates, and how another phone comes in. */
export function menu(page) {
  async function people() {
    const t = page.state?.top, mine = page.me?.you, op = t?.operator;
    text($("who"), !mine ? "" : `This is ${mine.name}. ${!op ? "Nobody operates: whoever acts first does." : op.id === mine.id ? "You operate." : `${op.name} operates; you look on. Anybody may stop.`}`);
    $("take").disabled = op?.id === mine?.id;
    text($("take"), op && op.id !== mine?.id ? "Take over" : "Operate");
    $("give").disabled = op?.id !== mine?.id;
    try {
      const all = await ask("/api/people");
      $("people").replaceChildren(...all.map((p) => make("li", {}, `${p.name}${p.id === mine.id ? " (this page)" : ""} `,
        ...(op?.id === mine.id && p.id !== mine.id ? [make("button", { type: "button", onclick: () => hand(p.id) }, "hand over to it")] : []))));
    } catch { /* the page says that it is not live */ }
  }
  async function hand(to) { try { await ask("/api/hand-over", { to }); } catch (e) { say(e.message); } setTimeout(people, 200); }
  $("more").addEventListener("click", () => { show($("code"), false); open($("menu")); people(); });
  $("take").addEventListener("click", async () => { try { await act("take-over"); } catch (e) { say(e.message); } setTimeout(people, 200); });
  $("give").addEventListener("click", () => hand(""));
  $("invite").addEventListener("click", async () => {
    try {
      const i = await ask("/api/invite", undefined, "POST");
      $("qr").setAttribute("viewBox", `-4 -4 ${i.size + 8} ${i.size + 8}`);
      $("qr").replaceChildren(draw("path", { d: i.qr, fill: "#000" }));
      text($("address"), page.me.open ? `${i.address} (this machine alone)` : `${i.address}\ngood once, for ${i.minutes} minutes`);
      show($("code"), true);
    } catch (e) { say(e.message); }
  });
}
