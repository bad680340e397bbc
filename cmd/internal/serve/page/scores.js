// The readable page: what the feed says, as text. The clock goes on from the last reading by the host's clock, which is
// known from pings; the feed's messages are described under /schema/.
"use strict";

const STALE = 2000, LONGEST = 1000, PING = 1000; // milliseconds
const at = (id) => document.getElementById(id);
let socket = null, wait = 0, retry = 0, heard = performance.now(), begun = 0, seq = 0, game = "";
let view = null, display = { rounding: "floor", tenths_below_ms: 0 };
// off is what the game's instants are ahead of this page's clock, in milliseconds; best is the shortest way there and back
// of the pings that said so.
let off = null, best = Infinity;

function connect() {
  clearTimeout(retry);
  if (document.hidden || socket) return;
  const s = new WebSocket(location.origin.replace(/^http/, "ws") + "/feed");
  socket = s;
  begun = performance.now();
  s.onopen = () => say({ type: "opening", versions: [1], role: "viewer" });
  s.onmessage = (e) => { if (s === socket) take(JSON.parse(e.data)); };
  s.onclose = () => { if (s === socket) leave(); };
}

function leave() {
  const s = socket;
  socket = null;
  if (s) s.close();
  if (document.hidden) return;
  wait = Math.min(wait ? 2 * wait : 100, LONGEST);
  retry = setTimeout(connect, wait * (0.5 + Math.random() / 2));
}

function say(m) {
  if (socket && socket.readyState === WebSocket.OPEN) socket.send(JSON.stringify(m));
}

function take(m) {
  const now = performance.now();
  heard = now;
  wait = 0;
  switch (m.type) {
    case "snapshot":
      if (m.game !== game) {
        game = m.game;
        off = m.now_ns / 1e6 - now;
        best = Infinity;
        at("lately").replaceChildren();
        ask();
      }
      seq = m.seq;
      show(m, null);
      break;
    case "event":
      if (m.seq <= seq) return;
      if (m.seq !== seq + 1) return say({ type: "resend", after: seq });
      seq = m.seq;
      show(m, m.event);
      break;
    case "pong":
      hear(m, now);
  }
}

// hear sets the clock by the four timestamps of a ping: the first of a game at once, later ones by 20 ms a second at most,
// and only those that were about as quick as the quickest.
function hear(m, now) {
  const asked = m.asked_ns / 1e6, delay = now - asked, says = (m.received_ns + m.sent_ns) / 2e6 - (asked + now) / 2;
  if (off === null || m.sent_ns < m.received_ns || delay > 10000) return;
  if (best === Infinity) off = says;
  else if (delay <= best) off += Math.max(-20, Math.min(20, says - off));
  best = Math.min(best, delay) + 0.05; // clocks drift: what was quick long ago counts less
}

function ask() {
  say({ type: "ping", asked_ns: Math.round(performance.now() * 1e6) });
}

// show puts a view on the page, and tells what a listener wants to know.
function show(m, event) {
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
  text(at("period"), { before: "Before the game", interval: "Interval", halftime: "Half-time", over: "Final" }[view.period.phase] || view.period.label);
  const score = view.home.name + " " + view.home.score + ", " + view.away.name + " " + view.away.score;
  if (before && (before.home.score !== view.home.score || before.away.score !== view.away.score || before.period.phase !== view.period.phase)) {
    text(at("told"), score + (view.period.phase === "over" ? ", final" : ""));
  }
  if (event) lately(event);
  tick();
}

function row(p) {
  const tr = document.createElement("tr"), th = document.createElement("th");
  th.scope = "row";
  th.textContent = (p.number + " " + p.name).trim() + (p.out ? " (out)" : "");
  tr.append(th, ...[p.points, p.fouls].map((n) => { const td = document.createElement("td"); td.textContent = n; return td; }));
  return tr;
}

function lately(e) {
  const c = e.command, by = c.by ? " (" + c.by + ")" : "", team = c.team && view[c.team] ? view[c.team].name : "";
  const said = {
    score: () => team + ": " + c.points + (Math.abs(c.points) === 1 ? " point" : " points") + by, foul: () => team + ": foul" + by,
    timeout: () => team + ": timeout", timeout_official: () => "Official's timeout", period_next: () => "Next: " + at("period").textContent,
    undo: () => "Entry " + c.event + " is taken back", void: () => "Entry " + c.event + " is taken back", amend: () => "Entry " + c.event + " is put right",
    game_over: () => "Final",
  }[c.do];
  if (!said) return;
  const li = document.createElement("li");
  li.value = e.number;
  li.textContent = said();
  at("lately").prepend(li);
  while (at("lately").children.length > 12) at("lately").lastChild.remove();
}

// tick writes the clock as it is now.
function tick() {
  if (!view || off === null) return;
  const passed = Math.max(0, performance.now() + off - view.at * 1000);
  const left = (t) => Math.max(0, t.remaining_ms - (t.running ? passed : 0));
  const timer = view.interval;
  text(at("clock"), timer ? plain(left(timer)) : reading(left(view.clock)));
  let beside = "";
  if (view.timeout) {
    beside = "Timeout" + (view.timeout.remaining_ms === null ? "" : " " + plain(Math.max(0, view.timeout.remaining_ms - passed)));
  } else if (view.message) {
    beside = view.message;
  }
  text(at("beside"), beside);
}

const cut = (ms, unit) => (display.rounding === "ceil" ? Math.ceil(ms / unit) : Math.floor(ms / unit));
const two = (n) => String(n).padStart(2, "0");

// reading writes a game clock as the rule set has it: the twin of Display.Text in engine/clock.
function reading(ms) {
  const tenths = cut(ms, 100);
  if (tenths * 100 >= display.tenths_below_ms) return plain(ms);
  return (tenths < 600 ? Math.floor(tenths / 10) : minutes(Math.floor(tenths / 10))) + "." + (tenths % 10);
}

const plain = (ms) => minutes(cut(ms, 1000));

function minutes(s) {
  const h = Math.floor(s / 3600), m = Math.floor(s / 60) % 60;
  return (h ? h + ":" + two(m) : m) + ":" + two(s % 60);
}

// text writes only what is new, so that nothing is read out twice.
function text(node, value) {
  if (node.textContent !== String(value)) node.textContent = value;
}

function look() {
  const now = performance.now();
  if (document.hidden) return;
  at("stale").hidden = now - heard < STALE;
  if (now - heard >= STALE) text(at("stale"), "Not current: no word from the gym. Trying again.");
  if (socket && now - Math.max(heard, begun) >= STALE) leave(); // a connection that says nothing is dead
}

document.addEventListener("visibilitychange", () => {
  if (document.hidden) {
    clearTimeout(retry);
    const s = socket;
    socket = null;
    if (s) s.close();
  } else {
    heard = performance.now();
    wait = 0;
    connect();
  }
});
setInterval(tick, 100);
setInterval(look, 300);
setInterval(ask, PING);
connect();
