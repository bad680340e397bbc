// Who it is: a panel with a team's numbers, and where there is one a choice above them. One touch of a number enters it.
import { game } from "./desk-host.js";
import { key, make, panel, sends } from "./desk-dom.js";

// pick shows the panel. enter(button, by, chosen) is called with the number that was touched, and what was chosen of choice,
// a fieldset; others are [by, label] of who is no player; done is called when it is given up.
export function pick({ team, title, choice, others = [], enter, done }) {
  const chosen = () => choice?.querySelector("input:checked")?.value;
  const to = (by, ...label) => key({ className: "order", "data-by": by }, (b) => enter(b, by, chosen()), ...label);
  const form = make("form", { className: "pair" },
    make("label", {}, "Another number ", make("input", { name: "by", inputMode: "numeric", autocomplete: "off", maxLength: 3, pattern: "[0-9]{1,3}", required: true })),
    make("button", { className: "order" }, "Enter"));
  sends(form, (b) => enter(b, form.elements.by.value, chosen()));
  return panel(title, done, ...(choice ? [choice] : []), players(team, to), make("div", { className: "row" }, ...others.map((o) => to(...o))), form);
}

// players are those on the floor first, each with what is against them.
function players(team, to) {
  const list = [...game.view[team].players].sort((a, b) => b.on_floor - a.on_floor);
  return make("div", { className: "players" }, ...list.map((p) => {
    const fouls = p.out ? "out" : p.fouls + (p.fouls === 1 ? " foul" : " fouls");
    return to(p.number, make("b", {}, p.number), " ", make("span", {}, p.name.split(" ").at(-1)), " ", make("span", {}, fouls));
  }));
}
