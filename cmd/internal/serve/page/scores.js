// The readable page: what the feed says, as text. The clock goes on from the last reading by the host's clock, which is
// known from pings; the feed's messages are described under /schema/.
import { HostClock, Link } from "./link.js";
import { plain, reading } from "./reading.js";

const at = (id) => document.getElementById(id);
let seq = 0, game = "", via = "", zero = 0, view = null, recent = [], display = { rounding: "floor", tenths_below_ms: 0 }, clock = new HostClock(), asking = 0;

// What tests look at.
window.rafter = { get view() { return view; }, get clock() { return clock; }, tick, reading };

const link = new Link("/feed", { open: () => say({ type: "opening", versions: [1], role: "viewer" }), take, lost, stale, back });

const say = (m) => link.send(JSON.stringify(m));

// take tells whether the page is current with the message: a view or the host's clock.
function take(data, now) {
  const m = JSON.parse(data);
  switch (m.type) {
    case "snapshot":
      if (m.game !== game) { // its clock's zero is another
        if (via === String(m.via)) clock.shift((zero - m.zero_ns) / 1e6);
        else clock = new HostClock();
        game = m.game;
      } else if (via !== String(m.via)) {
        clock.forget(); // a host on the way was started anew
      }
      via = String(m.via);
      zero = m.zero_ns;
      seq = m.seq;
      show(m);
      ask();
      return true;
    case "event":
      if (m.seq <= seq) return true;
      if (m.seq !== seq + 1) {
        say({ type: "resend", after: seq });
        return false;
      }
      seq = m.seq;
      show(m);
      return true;
    case "pong":
      clock.add(m.asked_ns / 1e6, m.received_ns / 1e6, m.sent_ns / 1e6, now);
      asking = setTimeout(ask, clock.pause);
      if (m.silent_ms >= 2000) stale(); // the host is here, but has lost the one that has the game
      else back();
      return true;
  }
  return false;
}

function ask() {
  clearTimeout(asking);
  say({ type: "ping", asked_ns: Math.round(performance.now() * 1e6) });
}

// show puts a view on the page, and tells what a listener wants to know.
function show(m) {
  const before = view;
  view = m.view;
  display = m.display || display;
  for (const side of ["home", "away"]) {
    const t = view[side], box = at(side);
    text(box.querySelector("h2"), t.name);
    for (const [name, value] of [
      ["score", t.score], ["fouls", t.fouls_shown],
      ["timeouts", "Timeouts " + Object.entries(t.timeouts).map(([k, n]) => n + " " + k).join(", ")],
      ["bonus", { none: "", one_and_one: "Bonus", two: "Double bonus", two_and_ball: "Bonus" }[t.bonus]],
    ]) text(box.querySelector("[data-is=" + name + "]"), value);
    const table = at(side + "-players");
    text(table.caption, t.name);
    table.tBodies[0].replaceChildren(...t.players.map(row));
  }
  text(document.querySelector("h1"), view.home.name + " – " + view.away.name);
  at("scores").dataset.phase = view.period.phase;
  text(at("period"), { before: "Before the game", interval: "Interval", halftime: "Half-time", over: "Final" }[view.period.phase] || view.period.label);
  text(at("possession"), view[view.arrow] ? "Arrow: " + view[view.arrow].name : "");
  const score = view.home.name + " " + view.home.score + ", " + view.away.name + " " + view.away.score;
  if (before && (before.home.score !== view.home.score || before.away.score !== view.away.score || before.period.phase !== view.period.phase)) {
    text(at("told"), score + (view.period.phase === "over" ? ", final" : ""));
  }
  if (m.recent || !m.event) recent = m.recent || []; // a correction says anew what has happened
  else note(m.event);
  lately();
  tick();
}

function row(p) {
  const tr = document.createElement("tr"), th = document.createElement("th");
  th.scope = "row";
  th.textContent = (p.number + " " + p.name).trim() + (p.out ? " (out)" : "");
  tr.append(th, ...[p.points, p.fouls].map((n) => { const td = document.createElement("td"); td.textContent = n; return td; }));
  return tr;
}

// lately shows what has happened, the newest first; what was taken back is struck out.
function lately() {
  at("lately").replaceChildren(...recent.map((e, i) => {
    const li = document.createElement("li"), words = document.createElement(e.live ? "span" : "del");
    words.append(...happened(e.now || e.event.command, recent.slice(0, i).some((f) => f.period === e.period)));
    li.append(e.period + " " + e.clock + "  ", words);
    return li;
  }).reverse());
}

// told are the events that are news here, by what a command does: the twin of told in entries.go. begun tells whether the
// period had news before.
const told = {
  score: (c, by) => ": " + c.points + (Math.abs(c.points) === 1 ? " point" : " points") + by,
  score_set: (c) => ": the score is put right to " + c.count,
  foul: (c, by) => ": foul" + by,
  timeout: () => ": timeout",
  timeout_official: () => "Official’s timeout",
  timeout_media: () => "Media timeout",
  period_next: (c, by, begun) => (begun ? "End of the period" : "Beginning of the period"),
  game_over: () => "Final",
};

// happened is what a line says. A team's name stands apart: one that runs from right to left would turn a number beside it round.
function happened(c, begun) {
  const name = document.createElement("bdi");
  name.textContent = view[c.team]?.name ?? "";
  return [name, told[c.do](c, c.by ? " (" + c.by + ")" : "", begun)];
}

// note takes an event in, of which the view is.
function note(e) {
  if (!told[e.command.do]) return;
  const at = reading(view.clock.remaining_ms, display);
  recent = [...recent, { event: e, live: true, period: view.period.label, clock: at }].slice(-12);
}

// tick writes the clock as it is now.
function tick() {
  if (!view) return;
  const passed = Math.max(0, (clock.now() ?? 0) - view.at * 1000); // 0 until the host's clock is known
  const left = (t) => Math.max(0, t.remaining_ms - (t.running ? passed : 0));
  const timer = view.interval;
  text(at("clock"), timer ? plain(left(timer), display) : reading(left(view.clock), display));
  let beside = "";
  if (view.timeout) {
    beside = "Timeout" + (view.timeout.remaining_ms === null ? "" : " " + plain(Math.max(0, view.timeout.remaining_ms - passed), display));
  } else if (view.message) {
    beside = view.message;
  }
  text(at("beside"), beside);
}

// text writes only what is new, so that nothing is read out twice.
function text(node, value) {
  if (node.textContent !== String(value)) node.textContent = value;
}

// lost says so of a page that nobody sees: seen again it is old until something comes.
function lost() {
  if (document.hidden) stale();
}

function stale() {
  text(at("stale"), "Not current: no word from the gym. Trying again.");
  at("stale").hidden = false;
}

function back() { at("stale").hidden = true; }

setInterval(tick, 100);
