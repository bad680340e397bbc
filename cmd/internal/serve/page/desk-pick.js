// Who it was: a panel with a team's numbers, and for a foul its kinds. One touch of a number is the entry.
import { game } from "./desk-host.js";
import { act } from "./desk-act.js";
import { at, chips, make } from "./desk-dom.js";
import { kindOf, upper } from "./desk-words.js";

// pick shows the panel. title says what is asked, command makes the command of {by, kind}, done is called when it is
// entered or given up. kinds: whether a kind of foul is asked for, and a coach may be meant.
export function pick({ team, title, kinds, command, done }) {
  const chosen = () => panel.querySelector("input[name=kind]:checked")?.value;
  const enter = (button, by) => act(button, command({ by, kind: kinds ? chosen() : undefined }), done);
  const to = (by, ...label) => {
    const b = make("button", { type: "button", className: "order", "data-by": by ?? "" }, ...label);
    b.addEventListener("click", () => enter(b, by));
    return b;
  };
  const panel = at("pick");
  const back = make("button", {}, "Back");
  back.addEventListener("click", done);
  const name = make("h2", { id: "pick-name", tabIndex: -1 }, title);
  const form = make("form", { className: "pair" },
    make("label", {}, "Another number ", make("input", { name: "by", inputMode: "numeric", autocomplete: "off", maxLength: 3, pattern: "[0-9]{1,3}", required: true })),
    make("button", { className: "order" }, "Enter"));
  form.addEventListener("submit", (e) => {
    e.preventDefault();
    enter(form.querySelector("button"), form.elements.by.value);
  });
  const none = make("div", { className: "row" }, to(undefined, "No number"));
  if (kinds) none.append(to("coach", "Coach"));
  panel.replaceChildren(make("div", { className: "top" }, name, back), ...(kinds ? [chips("kind", "Kind of foul", game.rules?.fouls ?? ["personal"], "personal", (k) => upper(kindOf(k)))] : []), players(team, to), none, form);
  return name;
}

// players are those on the floor first, each with what is against them.
function players(team, to) {
  const list = [...game.view[team].players].sort((a, b) => b.on_floor - a.on_floor);
  return make("div", { className: "players" }, ...list.map((p) => {
    const fouls = p.out ? "out" : p.fouls + (p.fouls === 1 ? " foul" : " fouls");
    return to(p.number, make("b", {}, p.number), " ", make("span", {}, p.name.split(" ").at(-1)), " ", make("span", {}, fouls));
  }));
}
