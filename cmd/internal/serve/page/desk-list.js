// The list of what was keyed, by whom, and the panel that puts one entry right.
import { game, older } from "./desk-host.js";
import { act } from "./desk-act.js";
import { at, chips, key, make, panel, sends, text } from "./desk-dom.js";
import { inWords, kindOf, upper } from "./desk-words.js";

const rows = new Map(); // by the entry's number
let asked = null; // opens the panel

// begin has a touched entry opened by f(entry).
export function begin(f) {
  asked = f;
  at("older").addEventListener("click", older);
}

// now is the command that is in force for an entry.
export const now = (entry) => entry.now ?? entry.event.command;

export function render() {
  const list = at("entries"), kept = new Set();
  let place = list.firstElementChild;
  for (const entry of game.entries) {
    const n = entry.event.number;
    kept.add(n);
    const li = rows.get(n) ?? row(n);
    fill(li, entry);
    if (li === place) place = li.nextElementSibling;
    else list.insertBefore(li, place);
  }
  for (const [n, li] of rows) {
    if (kept.has(n)) continue;
    li.remove();
    rows.delete(n);
  }
  at("older").hidden = !game.more;
}

function row(n) {
  const part = (className) => make("span", { className });
  const li = make("li", {}, key({}, () => asked(game.entries.find((e) => e.event.number === n)), part("no"), part("does"), part("when"), part("by")));
  rows.set(n, li);
  return li;
}

function fill(li, entry) {
  const put = (part, words) => text(li.querySelector("." + part), words);
  put("no", entry.event.number);
  put("does", upper(inWords(now(entry), game.view)));
  put("when", entry.period + " " + entry.clock);
  put("by", entry.event.desk + (entry.live ? "" : ", taken back") + (entry.now ? ", put right" : ""));
  li.classList.toggle("gone", !entry.live);
}

// FIELDS are what can be put right in an entry: by its key, an element from the command as it is.
const FIELDS = {
  team: (c) => chips("team", "Team", ["home", "away"], c.team, (t) => game.view[t].name),
  points: (c) => chips("points", "Points", [1, 2, 3, -1, -2, -3], c.points),
  by,
  kind: (c) => chips("kind", "Kind of foul", game.rules?.fouls ?? [], c.kind ?? "personal", (k) => upper(kindOf(k))),
  only: (c) => chips("only", "Counts to", ["", "player-only", "team-only"], c.only ?? "", (o) => ONLY[o]),
  length: (c) => chips("kind", "Kind of timeout", game.rules?.timeouts ?? [], c.kind, upper),
  count: (c) => make("label", {}, "Count ", make("input", { name: "count", inputMode: "numeric", value: c.count, maxLength: 3 })),
  clock: (c) => make("label", {}, "Reading, as 4:32 or 32.1 ", make("input", { name: "clock", value: c.clock, maxLength: 9, autocomplete: "off" })),
};

const ONLY = { "": "team and player", "player-only": "the player alone", "team-only": "the team alone" };

// by asks for one of the team's players; a team without a list has any number.
function by(c) {
  const list = game.view[c.team].players.map((p) => p.number), is = c.by ?? "";
  if (list.length === 0) return make("label", {}, "Player, a number or nothing ", make("input", { name: "by", value: is, autocomplete: "off", maxLength: 5 }));
  return chips("by", "Player", [...new Set(["", ...list, ...(c.do === "foul" ? ["coach"] : []), is])], is, (n) => n || "none");
}

const EDITS = {
  score: ["team", "points", "by"], score_set: ["team", "count"], foul: ["team", "kind", "by", "only"], timeout: ["team", "length"],
  clock_set: ["clock"], arrow: ["team"], control: ["team"], fouls_set: ["team", "by", "count"], timeouts_set: ["team", "length", "count"],
};
const NUMBERS = new Set(["points", "count"]);

// open shows one entry; done is called when it is put right or left.
export function open(entry, done) {
  const c = now(entry), n = entry.event.number;
  const parts = [make("p", { className: "soft" }, entry.period + ", " + entry.clock + ", keyed by " + entry.event.desk + (entry.live ? "." : ". It is taken back."))];
  if (entry.live && EDITS[c.do]) {
    const form = make("form", { className: "card" }, ...EDITS[c.do].map((k) => FIELDS[k](c)), make("button", { className: "order" }, "Put right"));
    sends(form, (b) => act(b, { do: "amend", event: n, command: read(form, c) }, done));
    // Another team has other players.
    form.addEventListener("change", (e) => {
      if (e.target.name === "team") form.querySelector("[name=by]")?.closest("fieldset, label").replaceWith(by({ ...c, team: e.target.value, by: "" }));
    });
    parts.push(form);
  }
  if (entry.live) {
    const reverts = ["undo", "void", "redo", "amend"].includes(entry.event.command.do);
    parts.push(make("div", { className: "row" }, key({ className: "order" }, (b) => act(b, { do: "void", event: n }, done),
      reverts ? "Take this correction back" : "Take this entry back")));
  }
  return panel("Entry " + n + ": " + inWords(c, game.view), done, ...parts);
}

function read(form, old) {
  const command = { ...old };
  for (const [k, v] of new FormData(form)) {
    const value = v.trim();
    if (value === "" || k === "kind" && value === "personal") delete command[k];
    else command[k] = NUMBERS.has(k) ? Number(value) : value;
  }
  return command;
}
