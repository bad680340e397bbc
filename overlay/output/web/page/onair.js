// The page of an output. It puts the host's own pixels on a canvas that is exactly the graphic's box, each at its instant, and
// says, outside that box, when they are not current. The message's form is in overlay/output/web/tile.go; Canvas there is
// this page's twin.
import { HostClock, Link } from "./link.js";

const HEAD = 40, STEP = 6, RECT = 8; // bytes
const BEAT = 0, WHOLE = 2, AHEAD = 3;
const ANSWER = 4, ANSWER_BYTES = 8192; // after so many messages, or so many bytes of them, the host is told
const canvas = document.getElementById("air");
const mark = document.getElementById("mark");
const surface = canvas.transferControlToOffscreen?.() ?? canvas; // its pixels then go past the page's own compositor
const air = surface.getContext("2d");
const clears = new URLSearchParams(location.search).get("lost") === "clear"; // what to do without the host
const clock = new HostClock();
let place = null, held = [], timer = 0, asking = 0;
let taken = 0, open = 0, bytes = 0; // messages over this connection; those that are not answered yet, and their bytes
let away = 0, far = 0; // milliseconds without a word from the host, and seconds without one to it

// For whoever measures: messages taken, the last one's sequence, the host's clock, and what is told of each step put up.
window.rafter = { messages: 0, sequence: 0, lost: false, clock, shown: null };

const link = new Link(location.pathname + "/socket", { open: begin, take, lost, stale, back });

async function take(data, now) {
  if (typeof data === "string") return hear(data, now);
  const v = new DataView(data), kind = v.getUint8(1);
  if (v.getUint8(0) !== 1) throw new Error("a message of another version");
  if (kind !== BEAT) await put(v, kind);
  far = v.getUint8(2);
  tell();
  window.rafter.messages++;
  window.rafter.sequence = Number(v.getBigUint64(4));
  answer(data.byteLength);
}

function begin() {
  taken = bytes = 0;
  open = Math.floor(Math.random() * ANSWER); // not all pages answer the same message
  ask();
}

// answer lets the host send more.
function answer(size) {
  taken++;
  open++;
  bytes += size;
  if (open < ANSWER && bytes < ANSWER_BYTES) return;
  open = bytes = 0;
  link.send(taken.toString());
}

// put takes what a message has for now and for later.
async function put(v, kind) {
  const made = Number(v.getBigInt64(20)) / 1e6, steps = [];
  let at = HEAD, size = 0;
  for (let i = v.getUint8(3); i > 0; i--) {
    const tiles = [];
    for (let n = v.getUint16(at + 4), r = at + STEP; n > 0; n--, r += RECT) {
      const t = { x: v.getUint16(r), y: v.getUint16(r + 2), w: v.getUint16(r + 4), h: v.getUint16(r + 6), from: size };
      size += 4 * t.w * t.h;
      tiles.push(t);
    }
    steps.push({ at: made + v.getUint32(at) / 1000, tiles });
    at += STEP + RECT * tiles.length;
  }
  const pixels = await inflate(new Uint8Array(v.buffer, at), size);
  for (const { tiles } of steps) {
    for (const t of tiles) t.image = new ImageData(pixels.subarray(t.from, t.from + 4 * t.w * t.h), t.w, t.h);
  }
  if (kind !== AHEAD) {
    advance(made);
    held = [];
    if (kind === WHOLE) {
      place = { w: v.getUint16(28), h: v.getUint16(30), x: v.getUint16(32), y: v.getUint16(34) };
      surface.width = v.getUint16(36);
      surface.height = v.getUint16(38);
      canvas.hidden = false;
      lay();
    }
    show(steps.shift());
  }
  held.push(...steps);
  turn();
}

const FORM = "deflate-raw";
let unpacks = true; // not in browsers from before 2023, which some capture programs have in them
try { new DecompressionStream(FORM); } catch { unpacks = false; }

async function inflate(bytes, size) {
  const stream = new Blob([bytes]).stream().pipeThrough(new DecompressionStream(FORM));
  const pixels = new Uint8ClampedArray(await new Response(stream).arrayBuffer());
  if (pixels.length !== size) throw new Error("a message with other pixels than it says");
  return pixels;
}

// advance puts up what is held for instants of the host's clock until now.
function advance(now) {
  while (held.length && held[0].at <= now) show(held.shift());
}

function show(step) {
  for (const t of step.tiles) air.putImageData(t.image, t.x, t.y);
  window.rafter.shown?.(step.at);
}

// turn puts up what is due, and comes again when the next is. Before the host's clock is known nothing is.
function turn() {
  clearTimeout(timer);
  const now = clock.now();
  if (now === null) return;
  advance(now);
  if (held.length) timer = setTimeout(turn, held[0].at - now);
}

// ask and hear keep the host's clock, and what the canvas shows in words.
function ask() {
  clearTimeout(asking);
  link.send("ping " + Math.round(performance.now() * 1000));
}

function hear(text, now) {
  const [pong, words] = text.split("\n"), [word, ...times] = pong.split(" "), [t1, t2, t3] = times.map((t) => Number(t) / 1000);
  if (words) canvas.setAttribute("aria-label", words);
  if (word === "pong" && clock.add(t1, t2, t3, now)) turn();
  asking = setTimeout(ask, clock.pause);
  return false; // what is shown may still be old
}

// lay puts the frame into the window, each pixel on one of the screen's where the window has the frame's size.
function lay() {
  if (!place) return;
  const dots = window.devicePixelRatio || 1;
  let scale = Math.min(innerWidth * dots / place.w, innerHeight * dots / place.h);
  if (Math.abs(scale - 1) < 0.01) scale = 1;
  scale /= dots;
  canvas.style.left = place.x * scale + "px";
  canvas.style.top = place.y * scale + "px";
  canvas.style.transform = scale === 1 ? "none" : "scale(" + scale + ")";
  if (window.rafter.lost) beside(scale);
}

// lost hides what nobody sees: seen again it is old until the host has sent the whole frame.
function lost() {
  if (document.hidden) canvas.hidden = true;
}

function stale(silent) {
  away = silent;
  tell();
}

function back() {
  away = 0;
  tell();
}

// tell says whether what is shown is current.
function tell() {
  const why = away ? !unpacks ? "this browser is too old for this page" : "no word from the host for " + Math.floor(away / 1000) + " s" : far >= 2 ? "the host has had no word of the game for " + far + " s" : "";
  if (!why && !window.rafter.lost) return;
  window.rafter.lost = why !== "";
  mark.hidden = !why || clears;
  canvas.hidden = why !== "" && clears;
  if (mark.hidden) return;
  mark.textContent = "not current: " + why;
  if (place) lay();
  else mark.style.left = mark.style.top = "0";
}

// beside puts the mark where the graphic is not: below its box, above it, or, where the box fills the window, in its
// place, for a clock that is not current must not look as if it were.
function beside(scale) {
  if (mark.hidden) return;
  const top = place.y * scale, bottom = top + canvas.height * scale, tall = Math.ceil(mark.getBoundingClientRect().height);
  const below = bottom + tall <= innerHeight, above = top >= tall;
  canvas.hidden = !below && !above;
  mark.style.left = Math.max(0, Math.min(place.x * scale, innerWidth - mark.offsetWidth)) + "px";
  mark.style.top = (below ? bottom : above ? top - tall : 0) + "px";
}

addEventListener("resize", lay);
