// The page of an output. It puts the host's own pixels on a canvas that is exactly the graphic's box, and says, outside
// that box, when they are not current. The message's form is in overlay/output/web/tile.go; Canvas there is this page's twin.
import { Link } from "./link.js";

const HEAD = 40; // bytes
const BEAT = 0, WHOLE = 2;
const canvas = document.getElementById("air");
const mark = document.getElementById("mark");
const air = canvas.getContext("2d");
const clears = new URLSearchParams(location.search).get("lost") === "clear"; // what to do without the host
let place = null, lost = false;

// Counters for whoever measures: messages taken, and the last one's sequence.
window.rafter = { messages: 0, sequence: 0, lost: false };

const link = new Link(location.pathname + "/socket", { take, stale, back });

async function take(data) {
  const v = new DataView(data), count = v.getUint16(2), kind = v.getUint8(1);
  if (v.getUint8(0) !== 1) throw new Error("a message of another version");
  const pixels = kind === BEAT ? null : await inflate(data.slice(HEAD + 8 * count));
  if (kind === WHOLE) {
    place = { w: v.getUint16(28), h: v.getUint16(30), x: v.getUint16(32), y: v.getUint16(34) };
    canvas.width = v.getUint16(36);
    canvas.height = v.getUint16(38);
    lay();
  }
  for (let i = 0, from = 0; i < count; i++) {
    const at = HEAD + 8 * i, w = v.getUint16(at + 4), h = v.getUint16(at + 6);
    air.putImageData(new ImageData(pixels.subarray(from, from + 4 * w * h), w, h), v.getUint16(at), v.getUint16(at + 2));
    from += 4 * w * h;
  }
  const sequence = v.getBigUint64(4);
  window.rafter.messages++;
  window.rafter.sequence = Number(sequence);
  link.send(sequence.toString());
}

async function inflate(bytes) {
  const stream = new Blob([bytes]).stream().pipeThrough(new DecompressionStream("deflate-raw"));
  return new Uint8ClampedArray(await new Response(stream).arrayBuffer());
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
  if (lost) beside(scale);
}

function stale(silent) {
  lost = window.rafter.lost = true;
  if (clears) {
    canvas.hidden = true;
    return;
  }
  mark.textContent = "not current: no word from the host for " + Math.floor(silent / 1000) + " s";
  mark.hidden = false;
  if (place) lay();
  else mark.style.left = mark.style.top = "0";
}

// beside puts the mark where the graphic is not: below its box, above it, or, where the box fills the window, in its
// place, for a clock that is not current must not look as if it were.
function beside(scale) {
  const top = place.y * scale, bottom = top + canvas.height * scale, tall = Math.ceil(mark.getBoundingClientRect().height);
  const below = bottom + tall <= innerHeight, above = top >= tall;
  canvas.hidden = !below && !above;
  mark.style.left = Math.max(0, Math.min(place.x * scale, innerWidth - mark.offsetWidth)) + "px";
  mark.style.top = (below ? bottom : above ? top - tall : 0) + "px";
}

function back() {
  lost = window.rafter.lost = false;
  mark.hidden = true;
  canvas.hidden = false;
}

addEventListener("resize", lay);
