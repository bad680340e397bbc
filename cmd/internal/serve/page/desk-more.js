// What is seldom needed of the clocks and the game: readings that are typed, another period, and what the host has to say.
import { game } from "./desk-host.js";
import { act, fire } from "./desk-act.js";
import { at, make, sends } from "./desk-dom.js";

// typed has a form with one field give a command of what is in it.
function typed(id, name, verb) {
  const field = at(id).elements[name];
  sends(at(id), (b) => act(b, { do: verb, [name]: field.value.trim() }, () => { field.value = ""; }));
}
typed("set", "clock", "clock_set");
typed("shot-set", "seconds", "shot_set");

const OVERTIMES = 4; // that can be chosen
const period = at("period-set").elements.period;
fire.go = (button) => act(button, { do: "period_set", period: period.value });

export function render() {
  const n = game.rules?.periods ?? 0;
  if (period.dataset.of !== String(n)) {
    period.dataset.of = n;
    const choice = (value, label) => make("option", { value }, label);
    period.replaceChildren(...Array.from({ length: n }, (_, i) => choice(i + 1, "Period " + (i + 1))),
      ...Array.from({ length: OVERTIMES }, (_, i) => choice("ot" + (i + 1), "Overtime " + (i + 1))));
  }
  const place = at("notices"), is = JSON.stringify(game.notices);
  place.hidden = game.notices.length === 0;
  if (place.dataset.is === is) return;
  place.dataset.is = is;
  place.querySelector("ul").replaceChildren(...game.notices.map((n) => make("li", {}, n.text)));
}
