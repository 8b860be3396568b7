// Signs for states: each has a shape of its own, so that colour is never the only sign.
const signs = { "landed": "●", "predicted": "◌", "out of reach": "◇", "unsettled": "≈", "held": "‖", "the reference": "◎" };
const busy = new Set(["being read", "moving", "settling", "matching", "goes on", "begun anew"]);

export function sign(row, idle) {
  if (row.result) return signs[row.result] ?? "?";
  if (row.state === "the reference") return signs[row.state];
  if (idle) return "–";
  if (busy.has(row.state)) return "◐";
  return row.readings > 0 ? "○" : "·";
}

export const isBusy = (row) => !row.result && busy.has(row.state);

export const works = {
  match: ["Match", "bring every fixture to the reference, with proof"],
  survey: ["Survey", "read every fixture as found; nothing is matched"],
  verify: ["Verify", "read a matched rig again: does it still stand?"],
  points: ["Verify at points", "take the meter from point to point of the lit surface"],
  recall: ["Recall", "put the look of an earlier run back, and hold it"],
  "by hand": ["By hand", "match the fixtures that you set yourself"],
  resume: ["Go on", "with a run that broke off"],
};

export const phases = {
  idle: "Nothing runs", arming: "Listening to meters and network; no light has moved", working: "", holding: "Held: the fixtures stay as they are",
  ending: "Ending: the fixtures are handed back", over: "The run is over",
};
