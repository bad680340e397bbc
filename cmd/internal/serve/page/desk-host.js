// The desk's end of /control: the game as the host tells it, and orders with their answers. Nothing waits for a connection:
// an order that cannot be sent is refused here, and one that was not answered is said to be unknown.
import { Link, HostClock } from "/page/link.js";

const PING = 1000, ANSWER = 2000, FRESH = 2000, SURE = 150, DRAINS = 5000; // milliseconds

const BACK = new Set(["undo", "redo", "void"]); // what takes an event back

// game is what is known; view, display and rules are the host's words for it. entries are the newest first;
// onAir is the graphic on air, opened whether it came by itself, notices what the operator should know.
export const game = {
  view: null, display: { rounding: "floor", tenths_below_ms: 0 }, rules: null, outputs: [], entries: [], more: false,
  onAir: "", opened: false, notices: [],
  current: false, silent: 0, // whether it is so now, and for how long nothing was heard, in milliseconds
};

const hearers = new Set(), waiting = new Map();
let clock = new HostClock(), id = "", via = "", zero = 0, seq = 0, number = 0;
let told = false; // how the game stands, over this connection

// onChange has f called after whatever changes in game.
export const onChange = (f) => hearers.add(f);
const changed = () => hearers.forEach((f) => f());

// passed is how long ago the view was made, in milliseconds.
export const passed = () => Math.max(0, (clock.now() ?? 0) - game.view.at * 1000);

// order sends a command and returns what came of it: {event}, {} where it had no effect, or {refused: {code, message}}.
export const order = (command) => ask({ type: "command", command, seen: seq });

// league begins the game anew by another rule set, before it has begun.
export const league = (rules) => ask({ type: "league", rules });

// late makes all that is on air so many milliseconds late.
export const late = (ms) => ask({ type: "delay", output: "", ms });

// older asks for entries before the oldest that is known.
export const older = () => say({ type: "ask_log", before: game.entries.at(-1)?.event.number });

function ask(message) {
  const refuse = (code, text) => ({ refused: { code, message: text } });
  if (game.current && !link.current) leave(0); // this page has slept
  const before = moved < arrived && performance.now() < arrived + DRAINS;
  if (!game.current || before) return Promise.resolve(refuse("not_connected", "not connected: nothing was sent"));
  message.number = ++number;
  if (message.type === "command" && clock.now() !== null) message.touched_ns = Math.round(clock.now()) * 1e6;
  if (!say(message)) return Promise.resolve(refuse("not_connected", "not connected: nothing was sent"));
  return new Promise((resolve) => {
    const unknown = () => resolve(refuse("unknown", "no answer came: whether it was taken, the list will show"));
    const late = setTimeout(unknown, ANSWER);
    waiting.set(message.number, (answer) => {
      clearTimeout(late);
      waiting.delete(message.number);
      answer ? resolve(answer) : unknown();
    });
  });
}

const link = new Link("/control", {
  open: () => {
    told = false;
    say({ type: "opening", versions: [1], role: "desk" });
  },
  take,
  lost: () => leave(0),
  stale: leave,
  back: arrive,
});

const say = (m) => link.send(JSON.stringify(m));

// arrived is when the game was last current anew, and moved when the hand last moved, both by performance.now(): browsers keep
// what was touched before a sleep, and tell of it in the first seconds after.
let arrived = 0, moved = 0;
for (const kind of ["pointerdown", "click", "keydown"]) addEventListener(kind, (e) => { moved = e.timeStamp; }, true);

// arrive takes the game for current once it is known, and the host's clock, by which the host refuses what comes late.
function arrive() {
  if (told && clock.now() !== null && !game.current) {
    arrived = performance.now();
    game.current = true;
  }
  changed();
}

function leave(silent) {
  game.current = false;
  game.silent = silent;
  for (const answer of [...waiting.values()]) answer(null);
  changed();
  if (silent > 0) paired();
}

// paired looks whether this desk is still one, where the host answers and yet does not let it in; else the page that pairs
// is what the host has for it.
let looked = 0;
async function paired() {
  if (performance.now() - looked < 3000) return;
  looked = performance.now();
  const answer = await fetch("/desk", { signal: AbortSignal.timeout(2000) }).catch(() => null);
  if (answer?.status === 403) location.reload();
}

function take(data, now) {
  const m = JSON.parse(data);
  switch (m.type) {
    case "welcome":
      return false;
    case "problem":
      if (m.code === "not_paired") location.reload();
      return false;
    case "snapshot":
      show(m);
      ping();
      told = true;
      if (m.game === id && m.seq === seq) return arrive();
      if (m.game !== id) { // its clock's zero is another
        if (via === String(m.via)) clock.shift((zero - m.zero_ns) / 1e6);
        else clock = new HostClock();
      }
      [id, via, zero] = [m.game, String(m.via), m.zero_ns];
      seq = m.seq;
      game.entries = [];
      say({ type: "ask_log" });
      say({ type: "ask_rules" });
      say({ type: "ask_outputs" });
      return arrive();
    case "event":
      if (m.seq <= seq) return;
      if (m.seq !== seq + 1) return void say({ type: "resend", after: seq });
      seq = m.seq;
      show(m);
      game.entries.unshift({ event: m.event, period: m.view.period.label, clock: m.view.clock.text });
      fates();
      if (m.event.command.do === "set") say({ type: "ask_rules" });
      return changed();
    case "answer":
      return waiting.get(m.number)?.(m);
    case "entries":
      merge(m);
      fates();
      return changed();
    case "rules":
      game.rules = m;
      return changed();
    case "standing":
      [game.onAir, game.opened, game.notices] = [m.on_air, m.opened, m.notices];
      return changed();
    case "outputs":
      game.outputs = m.outputs;
      return changed();
    case "pong":
      clock.add(m.asked_ns / 1e6, m.received_ns / 1e6, m.sent_ns / 1e6, now);
      if (!game.current) arrive();
  }
}

// refresh asks for the game as it stands, since what comes with time alone is no event: that a clock has run out.
let fresh = 0;
export function refresh() {
  if (performance.now() - fresh < FRESH) return;
  fresh = performance.now();
  setTimeout(() => say({ type: "resend", after: Number.MAX_SAFE_INTEGER }), SURE);
}

// fates finds what became of each entry, from the newest back: only a correction that stands counts, and the latest amend.
// The twin of the engine's: an event's fate is in those after it, all of which are known here.
function fates() {
  const gone = new Set(), now = new Map();
  for (const entry of game.entries) {
    const { number, command: c } = entry.event;
    entry.live = !gone.has(number);
    entry.now = now.get(number);
    if (!entry.live) continue;
    if (c.do === "amend") now.set(c.event, now.get(c.event) ?? c.command);
    else if (BACK.has(c.do)) gone.add(c.event);
  }
}

function show(m) {
  game.view = m.view;
  game.display = m.display ?? game.display;
}

// merge puts a page of the list over what is known.
function merge(m) {
  const first = m.entries.at(-1)?.event.number ?? 1, last = m.entries[0]?.event.number ?? 0;
  const oldest = game.entries.at(-1)?.event.number ?? Infinity;
  game.entries = [...game.entries.filter((e) => e.event.number > last), ...m.entries, ...game.entries.filter((e) => e.event.number < first)];
  if (first <= oldest) game.more = m.more;
}

const ping = () => say({ type: "ping", asked_ns: Math.round(performance.now() * 1e6) });
setInterval(ping, PING);
