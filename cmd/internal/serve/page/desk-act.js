// From a touch to an order and back: each is sent once, shown as on its way, and then as done or refused, to eye and hand.
import { game, order } from "./desk-host.js";
import { at, text } from "./desk-dom.js";
import { inWords, upper } from "./desk-words.js";

const TWICE = 300, HOLD = 1000, AGAIN = 5000, SHOWN = 900; // milliseconds
const last = new WeakMap(); // when a button was touched

// act orders a command for a button. then is called with the answer to one that was not refused.
export async function act(button, command, then) {
  const now = performance.now();
  if (button.dataset.ack === "pending" || now - (last.get(button) ?? -TWICE) < TWICE) return; // one touch that came twice
  last.set(button, now);
  mark(button, "pending");
  const answer = await order(command);
  settle(button, answer);
  if (answer.refused) return;
  if (!answer.event) tell("No change: it is so already.");
  else if (answer.event.command.do !== "score") tell(upper(inWords(answer.event.command, game.view))); // the score is told by itself
  then?.(answer);
}

// settle shows what became of an order.
export function settle(button, answer) {
  if (answer.refused) refuse(answer.refused.message);
  else until = 0; // what was refused before is past
  if (navigator.userActivation?.hasBeenActive !== false) navigator.vibrate?.(answer.refused ? [80, 60, 80] : 20);
  mark(button, answer.refused ? "refused" : "done");
  setTimeout(() => mark(button, ""), SHOWN);
}

function mark(button, ack) {
  if (ack) button.dataset.ack = ack;
  else if (button.dataset.ack !== "pending") delete button.dataset.ack;
}

let until = 0;
// refuse says why not, in the place of the last entry, for four seconds.
export function refuse(message) {
  until = performance.now() + 4000;
  const said = at("said");
  said.className = "bad";
  text(said, upper(message) + ".");
  alarm(said.textContent);
}

// alarm has a screen reader say something at once, be it the same again.
export function alarm(message) {
  at("alarm").textContent = "";
  at("alarm").textContent = message;
}

// refusing tells whether a refusal is still to be read.
export const refusing = () => performance.now() < until;

// tell has a screen reader say something when it has time.
export function tell(message) {
  text(at("told"), message);
}

// Everything with data-do acts where the finger leaves it, so that one may slide off; the clock alone acts at the touch.
document.addEventListener("click", (e) => {
  const button = e.target.closest("[data-do]");
  if (button && !("hold" in button.dataset)) act(button, JSON.parse(button.dataset.do));
});

// fire is what a hold does, where it is no order: by the button's id.
export const fire = {};

function fired(button) {
  button.classList.remove("armed");
  if (button.dataset.do) act(button, JSON.parse(button.dataset.do));
  else fire[button.id](button);
}

let held = null, filling = 0;
function drop(short) {
  if (!held) return;
  clearTimeout(filling);
  held.classList.remove("held");
  held = null;
  if (short) refuse("hold for one second");
}
document.addEventListener("pointerdown", (e) => {
  const button = e.target.closest("[data-hold]");
  if (!button || e.button > 0) return;
  drop(false);
  held = button;
  button.classList.add("held");
  filling = setTimeout(() => { drop(false); fired(button); }, HOLD);
});
document.addEventListener("pointerup", () => drop(true));
document.addEventListener("pointercancel", () => drop(false));
document.addEventListener("pointermove", (e) => { if (held && document.elementFromPoint(e.clientX, e.clientY)?.closest("[data-hold]") !== held) drop(true); });
document.addEventListener("contextmenu", (e) => { if (e.target.closest("button")) e.preventDefault(); });

// Without a pointer (keyboard, screen reader) it is pressed, and pressed again.
document.addEventListener("click", (e) => {
  const button = e.target.closest("[data-hold]");
  if (!button || e.detail > 0) return;
  if (button.classList.contains("armed")) return fired(button);
  button.classList.add("armed");
  refuse("press again within five seconds: " + button.textContent);
  setTimeout(() => button.classList.remove("armed"), AGAIN);
});

// A touch moves no focus: the space bar stays the clock's.
document.addEventListener("mousedown", (e) => { if (e.target.closest("button")) e.preventDefault(); });

// enable says to assistive technology what can be keyed; a touch without a connection is answered, not swallowed.
export function enable() {
  for (const b of document.querySelectorAll("#game button, [data-do], [data-panel], #clock, #who, #go, form button, .order")) {
    if (game.current) b.removeAttribute("aria-disabled");
    else b.setAttribute("aria-disabled", "true");
  }
}
