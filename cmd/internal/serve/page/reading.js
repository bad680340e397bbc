// How clock readings are written: the twin of Display.Text in engine/clock.
const two = (n) => String(n).padStart(2, "0");

const cut = (ms, unit, display) => (display.rounding === "ceil" ? Math.ceil(ms / unit) : Math.floor(ms / unit));

// reading writes what a game clock shows with so many milliseconds left; display is the feed's.
export function reading(ms, display) {
  const tenths = cut(ms, 100, display);
  if (tenths * 100 >= display.tenths_below_ms) return plain(ms, display);
  return (tenths < 600 ? Math.floor(tenths / 10) : minutes(Math.floor(tenths / 10))) + "." + (tenths % 10);
}

// plain writes it without tenths, as intervals and timeouts are.
export const plain = (ms, display) => minutes(cut(ms, 1000, display));

function minutes(s) {
  const h = Math.floor(s / 3600), m = Math.floor(s / 60) % 60;
  return (h ? h + ":" + two(m) : m) + ":" + two(s % 60);
}
