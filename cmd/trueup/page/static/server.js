// What the page asks the program for, and is told by it.

/** ask sends one request and returns what it is answered. It throws an Error in the program's words. */
export async function ask(path, body, method = body === undefined ? "GET" : "POST", wait = 15000) {
  const init = { method, headers: {}, signal: AbortSignal.timeout(wait), cache: "no-store" };
  if (body !== undefined) { init.headers["Content-Type"] = "application/json"; init.body = JSON.stringify(body); }
  let r;
  try { r = await fetch(path, init); } catch { throw new Error("the program did not answer: is the network there?"); }
  const kind = r.headers.get("Content-Type") ?? "";
  const said = kind.includes("json") ? await r.json() : await r.text();
  if (!r.ok) {
    const e = new Error(said?.errors?.map((x) => x.message).join("; ") || said?.detail || said || r.statusText);
    e.status = r.status;
    throw e;
  }
  return said;
}

export const act = (name) => ask(`/api/${name}`, undefined, "POST");

// silence is how long nothing may be heard until the page says that it is not live: three beats.
const silence = 6000;

/** listen keeps a stream open and calls on.state, on.change and on.live(yes, since). It opens it again whenever it
 * is lost: after sleep, after a hole in the network, after the program was started anew. */
export function listen(on) {
  let source, heard = 0, again = 0, live = false, lost = Date.now(), timer;
  const mark = (yes) => {
    if (yes) heard = Date.now();
    if (yes === live) { if (!yes) on.live(false, lost); return; }
    live = yes;
    if (!yes) lost = heard || Date.now();
    on.live(yes, lost);
  };
  const open = () => {
    clearTimeout(timer);
    source?.close();
    source = new EventSource("/api/events");
    const take = (what) => (m) => { again = 0; mark(true); what?.(JSON.parse(m.data)); };
    source.addEventListener("state", take(on.state));
    source.addEventListener("change", take(on.change));
    source.addEventListener("beat", take());
    source.onerror = async () => {
      mark(false);
      if (source.readyState !== EventSource.CLOSED) return; // the browser tries again by itself
      try { await ask("/api/me"); } catch (e) { if (e.status === 401) { on.stranger(); return; } }
      again = Math.min(again + 1, 8);
      timer = setTimeout(open, 400 * again);
    };
  };
  setInterval(() => {
    if (Date.now() - heard <= silence) return;
    mark(false);
    if (Date.now() - heard > 2 * silence && source?.readyState !== EventSource.CLOSED) { heard = Date.now() - silence; open(); }
  }, 500);
  addEventListener("online", open);
  addEventListener("offline", () => mark(false));
  document.addEventListener("visibilitychange", () => { if (!document.hidden && Date.now() - heard > silence) open(); });
  open();
}
