// A team's counts put right, and what else is seldom needed of it: who is on the floor, the lamp by hand, how it may lose.
import { game } from "./desk-host.js";
import { act } from "./desk-act.js";
import { chips, key, make, panel, sends } from "./desk-dom.js";
import { pick } from "./desk-pick.js";
import { upper } from "./desk-words.js";

// counts are what can be set: its name, the command without the count, and what it is now.
const counts = (team) => [
  ["Score", { do: "score_set", team }, (t) => t.score],
  ["Team fouls", { do: "fouls_set", team }, (t) => t.fouls],
  ...Object.keys(game.view[team].timeouts).map((kind) => [upper(kind) + " timeouts left", { do: "timeouts_set", team, kind }, (t) => t.timeouts[kind]]),
];

// LAMPS are what the lamp beside a team can be held at.
const LAMPS = [["By the rules", "auto"], ["No bonus", "none"], ["One and one", "one_and_one"], ["Two throws", "two"], ["Two and the ball", "two_and_ball"]];

let shown = []; // what keeps the open panel as the game is

export const render = () => shown.forEach((f) => f());

// open shows the panel. ask shows another in its place, done is called when it is left.
export function open(team, ask, done) {
  const t = () => game.view[team], again = () => ask(open(team, ask, done));
  shown = [];
  const whose = key({}, () => ask(pick({
    team, title: "Whose fouls?", done: again, enter: (_, by) => ask(fouls(team, by, again)),
  })), "A player’s fouls …");
  const name = panel(t().name, done,
    make("section", { className: "card" }, ...counts(team).map((c) => counter(t, ...c)), make("div", { className: "row" }, whose)),
    make("section", { className: "card" }, make("h3", {}, "Bonus"), lamps(team, t)),
    ...floor(team, t),
    make("section", { className: "card" }, make("h3", {}, "How this team may lose"),
      make("p", { className: "soft" }, "Hold for one second. It ends the game."),
      make("div", { className: "row" }, ...[["Forfeit", "forfeit"], ["By default", "default"]].map(([label, verb]) =>
        make("button", { "data-hold": "", "data-do": JSON.stringify({ do: verb, team }) }, label)))));
  render();
  return name;
}

// counter is one count: typed, or moved by one, and then set. What somebody types stays, whatever happens meanwhile.
function counter(t, label, command, of) {
  let known = "";
  const id = label.replaceAll(" ", "-");
  const field = make("input", { id, name: "count", inputMode: "numeric", pattern: "[0-9]{1,3}", maxLength: 3, required: true, autocomplete: "off" });
  const step = (by, sign, says) => key({ "aria-label": label + says }, () => { field.value = Math.max(0, Number(field.value) + by); }, sign);
  shown.push(() => {
    const now = String(of(t()));
    if (field.value === known) field.value = now;
    if (field.value === now) known = now;
  });
  return sends(make("form", { className: "count" }, make("label", { htmlFor: id }, label), field,
    step(-1, "−", ", one less"), step(1, "+", ", one more"), make("button", { "aria-label": "Set " + label.toLowerCase() }, "Set")),
  (set) => act(set, { ...command, count: Number(field.value) }));
}

function lamps(team, t) {
  const all = LAMPS.map(([label, throws]) => make("button", {
    type: "button", "data-do": JSON.stringify(throws === "auto" ? { do: "bonus_auto", team } : { do: "bonus", team, throws }),
  }, label));
  shown.push(() => all.forEach((b, i) => b.setAttribute("aria-pressed", LAMPS[i][1] === (t().bonus_held ? t().bonus : "auto"))));
  return make("div", { className: "row" }, ...all);
}

// floor asks who is on the floor, of a team whose players are known.
function floor(team, t) {
  const list = t().players;
  if (list.length === 0) return [];
  const form = make("form", { className: "card" },
    chips("numbers", "On the floor", list.map((p) => p.number), list.filter((p) => p.on_floor).map((p) => p.number), String, "checkbox"),
    make("button", {}, "Set"));
  return [sends(form, (set) => act(set, { do: "floor", team, numbers: new FormData(form).getAll("numbers") }))];
}

// fouls asks how many fouls a player has.
function fouls(team, by, done) {
  const is = game.view[team].players.find((p) => p.number === by)?.fouls;
  const most = Math.max(game.view.player_foul_limit || 5, is ?? 0);
  return panel(game.view[team].short + " " + by + ": fouls are", done, make("div", { className: "players" },
    ...Array.from({ length: most + 1 }, (_, count) =>
      key({ className: "order", "aria-pressed": count === is }, (b) => act(b, { do: "fouls_set", team, by, count }, done), make("b", {}, count)))));
}
