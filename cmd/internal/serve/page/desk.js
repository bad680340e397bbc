// The desk: the game as it stands, and what one touches to change it. The host decides; nothing here does.
import { game, onChange, passed, refresh } from "./desk-host.js";
import { act, alarm, enable, refuse, refusing, tell } from "./desk-act.js";
import { at, chips, make, text } from "./desk-dom.js";
import { pick } from "./desk-pick.js";
import { inWords, kindOf, upper } from "./desk-words.js";
import { plain, reading } from "./reading.js";
import * as air from "./desk-air.js";
import * as list from "./desk-list.js";
import * as more from "./desk-more.js";
import * as setup from "./desk-setup.js";
import * as counts from "./desk-team.js";

const me = document.body.dataset.me, body = document.body;
const tablet = matchMedia("(min-width: 44rem) and (min-height: 44rem)"); // the list has room beside the game
let view = "game", before = "game", opener = null, told = null;

// show puts a part of the desk on the screen, and the keyboard's focus where it is given.
function show(name, focus) {
  if (view !== "pick") {
    before = view;
    opener = document.activeElement;
  }
  view = name;
  for (const v of document.querySelectorAll(".view")) v.hidden = v.id !== name && !(v.id === "list" && name === "game" && tablet.matches);
  for (const b of document.querySelectorAll("[data-view]")) {
    if (b.dataset.view === name) b.setAttribute("aria-current", "page");
    else b.removeAttribute("aria-current");
  }
  document.querySelector("main").scrollTop = 0;
  focus?.focus({ preventScroll: true });
  render();
}

const back = () => (view === "pick" ? show(before, opener) : show("game"));
const ask = (name) => show("pick", name); // a panel has been filled, and this is its name
for (const b of document.querySelectorAll("[data-view]")) b.addEventListener("click", () => show(b.dataset.view));
tablet.addEventListener("change", () => show(view));
list.begin((entry) => ask(list.open(entry, back)));

// BONUS is what a team's lamp says, in words.
const BONUS = { none: "", one_and_one: "bonus", two: "double bonus", two_and_ball: "bonus" };
const THROWS = { none: "", one: "one throw", one_and_one: "one and one", two: "two throws", three: "three throws", two_and_ball: "two throws and the ball" };
const HOLD = { hold: true };

// NEXT is what the game asks for, the first that holds: its words, a clock, and what can be done.
const NEXT = [
  [(v) => v.timeout, (v) => ({
    words: "Timeout" + (v[v.timeout.team] ? ", " + v[v.timeout.team].name : ", " + v.timeout.team) + (v.timeout.kind ? " (" + v.timeout.kind + ")" : ""),
    clock: v.timeout.remaining_ms === null ? null : { remaining_ms: v.timeout.remaining_ms, running: true },
    acts: [["End timeout", "timeout_end"]],
  })],
  [(v) => v.period.phase === "over", () => ({ words: "Final. Mistakes can still be put right in the list.", acts: [] })],
  [(v) => v.final, () => ({ words: "The game is decided.", acts: [["End the game", "game_over", HOLD]] })],
  [(v) => v.interval, (v) => ({
    words: PHASES[v.period.phase], clock: v.interval,
    acts: [...(v.interval.remaining_ms === 0 ? [] : [v.interval.running ? ["Stop interval", "interval_stop"] : ["Run interval", "interval_start"]]), ["Next period", "period_next", HOLD]],
  })],
  [(v) => v.period.phase === "before", () => ({ words: "Before the game: teams are under Set up." + (setup.sleeps() ? " This screen may fall asleep." : ""), acts: [["First period", "period_next", HOLD]] })],
  [(v) => v.period_ended, () => ({ words: "The period is over.", acts: [["Interval", "period_next", HOLD]] })],
  [(v) => warned(v, "arrow_missing"), (v) => ({
    words: "Who had first control?", acts: ["home", "away"].map((team) => [v[team].short, "control", { team }]),
  })],
  [(v) => v.award && v.award.throws !== "none", (v) => ({ words: v[v.award.to].name + ": " + THROWS[v.award.throws], acts: [] })],
  [(v) => v.warnings.length > 0, (v) => ({ words: v.warnings[0].text, acts: [] })],
  [() => true, () => ({ words: "", acts: [] })],
];

const PARTS = { list, air, more, setup, pick: counts };

const warned = (v, code) => v.warnings.some((w) => w.code === code);

function render() {
  body.classList.toggle("off", !game.current);
  enable();
  link();
  news();
  const v = game.view;
  if (!v) return;
  for (const side of ["home", "away"]) team(side, v[side]);
  for (const b of document.querySelectorAll("[data-arrow]")) b.setAttribute("aria-pressed", v.arrow === b.dataset.arrow);
  for (const part of document.querySelectorAll("[data-has]")) if (game.rules) part.hidden = !game.rules[part.dataset.has];
  next(v);
  last();
  for (const [id, part] of Object.entries(PARTS)) if (!at(id).hidden) part.render();
  const score = v.home.name + " " + v.home.score + ", " + v.away.name + " " + v.away.score;
  if (told !== null && told !== score) tell(score);
  told = score;
  tick();
}

let connected = false, begun = false, advised = false;
// link says whether the host is heard, and the first of what it has to say; all of that is under More.
function link() {
  const s = game.current ? 0 : Math.floor(game.silent / 1000);
  if (connected !== game.current) (game.current ? tell : alarm)(game.current ? "Connected" : "No connection: nothing is keyed");
  connected = game.current;
  begun ||= connected;
  const first = game.notices[0];
  text(at("link"), game.current ? (first ? "More: " + first.text : "Connected as " + me) :
    !begun ? "Connecting …" : "No connection" + (s ? " (" + s + " s)" : "") + ": nothing is keyed");
  at("link").classList.toggle("noted", game.current && first !== undefined);
  if (!advised && s >= 10) refuse("the host is not heard: is this device still in the gym’s network, and the computer on");
  advised = s >= 10;
}

let noticed = new Set();
// news has what the host newly has to say be read in full.
function news() {
  const about = (n) => n.code + " " + n.about, first = game.notices.find((n) => !noticed.has(about(n)));
  noticed = new Set(game.notices.map(about));
  if (first) refuse(first.text.replace(/\.$/, ""));
}

function team(side, t) {
  const box = at(side);
  box.style.setProperty("--team", t.color || "var(--edge)");
  text(box.querySelector("h2"), t.name);
  text(box.querySelector(".score"), t.score);
  const counts = box.querySelector(".counts"), bonus = BONUS[t.bonus];
  if (counts.dataset.is !== t.fouls + bonus) {
    counts.dataset.is = t.fouls + bonus;
    counts.replaceChildren("Fouls ", make("b", {}, t.fouls), " ", make("b", { className: "bonus" }, upper(bonus)));
  }
  for (const s of document.querySelectorAll("[data-short=" + side + "]")) text(s, t.short);
  const place = box.querySelector(".timeouts"), kinds = Object.keys(t.timeouts);
  if (place.children.length !== kinds.length || place.dataset.kinds !== kinds.join()) {
    place.dataset.kinds = kinds.join();
    place.replaceChildren(...kinds.map((kind) => make("button",
      { "data-do": JSON.stringify({ do: "timeout", team: side, kind }), "aria-describedby": side + "-name" },
      make("span", { className: "what" }, "Timeout"), " " + (kinds.length > 1 ? upper(kind) + " " : ""), make("b", {}), make("span", { className: "unseen" }, " left"))));
  }
  kinds.forEach((kind, i) => text(place.children[i].querySelector("b"), t.timeouts[kind]));
}

let asks = { acts: [] }; // what stands in the row of what comes next
function next(v) {
  asks = NEXT.find(([holds]) => holds(v))[1](v);
  const place = at("next-acts"), is = JSON.stringify(asks.acts);
  text(at("next-text"), asks.words);
  if (place.dataset.is === is) return;
  place.dataset.is = is;
  place.replaceChildren(...asks.acts.map(([label, verb, more]) => {
    const { hold, ...rest } = more ?? {};
    const b = make("button", { "data-do": JSON.stringify({ do: verb, ...rest }) }, label);
    if (hold) b.dataset.hold = "";
    return b;
  }));
  enable();
}

// nameless is the last basket or foul, if it has no player yet; what only passes by since then is looked past.
const PASSES = /^(clock|shot|arrow|show|lower|message|horn)/;
function nameless() {
  const entry = game.entries.find((e) => !PASSES.test(e.event.command.do)), c = entry && list.now(entry);
  return entry?.live && !c.by && (c.do === "foul" || c.do === "score" && c.points > 0) ? entry : null;
}

// last shows the last entry, whoever keyed it.
function last() {
  const entry = game.entries[0], c = entry && list.now(entry);
  at("who").hidden = !nameless();
  if (refusing()) return;
  const said = at("said"), is = entry ? entry.event.number + inWords(c, game.view) + entry.event.desk : "";
  if (said.dataset.is === is && said.className === "") return;
  said.dataset.is = is;
  said.className = "";
  said.replaceChildren(...(entry ? [upper(inWords(c, game.view)) + " ", make("span", { className: "by" }, entry.event.number + " · " + (entry.event.desk === me ? "this desk" : entry.event.desk))] : []));
}

const NOBODY = ["", "No number"], COACH = ["coach", "Coach"];
const named = (by) => (by ? { by } : {});

at("who").addEventListener("click", () => {
  const entry = nameless(), c = list.now(entry);
  ask(pick({
    team: c.team, title: "Who? " + inWords(c, game.view), others: [NOBODY], done: back,
    enter: (b, by) => act(b, { do: "amend", event: entry.event.number, command: { ...c, ...named(by) } }, back),
  }));
});

// PANELS are what a button opens for a team.
const PANELS = {
  foul: (team) => pick({
    team, title: "Foul by " + game.view[team].name, others: [NOBODY, COACH], done: back,
    choice: chips("kind", "Kind of foul", game.rules?.fouls ?? ["personal"], "personal", (k) => upper(kindOf(k))),
    enter: (b, by, kind) => act(b, { do: "foul", team, ...(kind === "personal" ? {} : { kind }), ...named(by) }, back),
  }),
  lower: (team) => pick({
    team, title: "Who of " + game.view[team].name + " is shown?", done: back, enter: (b, by) => act(b, { do: "lower", team, by }, back),
  }),
  counts: (team) => counts.open(team, ask, back),
};
for (const b of document.querySelectorAll("[data-panel]")) {
  b.addEventListener("click", () => game.view && ask(PANELS[b.dataset.panel](b.dataset.team)));
}

// The clock. It acts when it is touched, not when it is let go: that is the instant that counts.
const clock = at("clock");
function startOrStop() {
  if (!game.view) return refuse("not connected: nothing was sent");
  act(clock, { do: game.view.clock.running ? "clock_stop" : "clock_start" });
}
clock.addEventListener("pointerdown", (e) => { if (e.button === 0) startOrStop(); });
clock.addEventListener("click", (e) => { if (e.detail === 0) startOrStop(); });
addEventListener("keydown", (e) => {
  const free = !e.target.closest?.("button, input, select, textarea, a"), here = e.target === clock;
  if (e.key === "Escape") back();
  if (!(e.key === " " && (free || here) || e.key === "Enter" && here)) return;
  e.preventDefault();
  if (!e.repeat) startOrStop();
});
addEventListener("keyup", (e) => { if (e.key === " " && e.target === clock) e.preventDefault(); });

const PHASES = { before: "Before the game", interval: "Interval", halftime: "Half-time", over: "Final" };
const VERBS = { before: "Start the game", interval: "Start the next period", halftime: "Start the next period", over: "Final" };

// tick writes the clocks as they are now.
function tick() {
  const v = game.view;
  if (!v) return;
  const gone = passed(), left = (t) => Math.max(0, t.remaining_ms - (t.running ? gone : 0));
  if (game.current && [v.clock, v.interval, v.shot_clock, asks.clock].some((t) => t && t.remaining_ms > 0 && left(t) === 0)) refresh();
  text(at("reading"), reading(left(v.clock), game.display));
  text(at("period"), PHASES[v.period.phase] ?? v.period.label);
  text(at("beside"), v.running_clock ? "running clock" : "");
  const runs = v.clock.running && left(v.clock) > 0;
  at("slab").classList.toggle("runs", runs);
  at("slab").classList.toggle("rests", !game.current || v.period_ended || v.period.phase === "over");
  text(at("verb"), !game.current ? "Not connected" : runs ? "Stop the clock" : v.period_ended ? "The period is over" : v.timeout ? "End the timeout, start" : VERBS[v.period.phase] ?? "Start the clock");
  if (asks.clock) text(at("next-text"), asks.words + " " + plain(left(asks.clock), game.display));
  text(at("shot-text"), "Shot " + (v.shot_clock ? Math.ceil(left(v.shot_clock) / 1000) : "–"));
  if (!refusing() && at("said").className) last();
}

setInterval(tick, 50);
onChange(render);
render();
