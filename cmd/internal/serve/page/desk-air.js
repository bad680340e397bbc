// What is on air: which graphic, who or what is in the lower third, and how late it all is.
import { game, late } from "./desk-host.js";
import { act, settle } from "./desk-act.js";
import { at, sends, text } from "./desk-dom.js";

const form = at("late");
let writes = false; // somebody writes in it

export function render() {
  const v = game.view, player = v.lower?.number ? v.lower : null;
  for (const b of document.querySelectorAll("[data-show]")) {
    const now = b.dataset.show === game.onAir;
    b.setAttribute("aria-pressed", now);
    if (now) text(at("air-now"), "On air: " + b.title + "." + (game.opened ? " It came by itself, and goes again; what you touch stands above it." : ""));
  }
  text(at("lower-now"), player ? "Now: " + player.number + " " + player.name + ", " + v[player.team].name : "Nobody now.");
  text(at("message-now"), v.message ? "Now: " + v.message + (player ? ", once the player is off" : "") : "None now.");
  if (game.outputs.length && !writes) form.elements.ms.value = Math.max(...game.outputs.map((o) => o.delay_ms));
}

const line = at("message").elements.text;
sends(at("message"), (b) => act(b, { do: "message", text: line.value.trim() }, () => { line.value = ""; }));

form.addEventListener("input", () => { writes = true; });
sends(form, async (b) => {
  settle(b, await late(Number(form.elements.ms.value)));
  writes = false;
});
