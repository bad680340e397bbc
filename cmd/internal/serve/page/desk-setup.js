// Before the game: league, teams, colours, rosters; and what there is to say about this desk.
import { game, league, order } from "./desk-host.js";
import { fire, refuse, settle, tell } from "./desk-act.js";
import { at, make, sends, text } from "./desk-dom.js";

const PACE = 60; // milliseconds between the orders of a roster: the host takes 20 a second
const pause = (ms) => new Promise((f) => setTimeout(f, ms));
const forms = [...document.querySelectorAll("[data-setup]")];
const dirty = new Set(); // forms that somebody writes in

export function render() {
  for (const form of forms) {
    const side = form.dataset.setup, team = game.view[side];
    text(form.querySelector("h2"), (side === "home" ? "Home: " : "Away: ") + team.name);
    if (dirty.has(form)) continue;
    for (const [name, value] of Object.entries({ name: team.name, short: team.short, color: team.color || "#767d8a", roster: lines(team.players) })) {
      const field = form.elements.namedItem(name);
      if (field.value !== value) field.value = value;
    }
  }
  const rules = game.rules, form = at("league");
  form.hidden = !rules || game.view.period.phase !== "before";
  if (form.hidden) return;
  text(at("league-now"), "Now: " + about(rules.sets.find((s) => s.name === rules.name) ?? rules) + ". Another begins the game anew; teams and players stay.");
  const list = form.elements.rules;
  if (list.options.length !== rules.sets.length) {
    list.replaceChildren(...rules.sets.map((s) => make("option", { value: s.name, selected: s.name === rules.name }, about(s))));
  }
}

const about = (s) => s.name.replaceAll("_", " ") + (s.about ? ": " + s.about : "");
const lines = (players) => players.map((p) => (p.number + " " + p.name).trim()).join("\n");

for (const form of forms) {
  form.addEventListener("input", () => dirty.add(form));
  sends(form, (b) => save(form, b));
}

async function save(form, button) {
  const side = form.dataset.setup;
  const list = changes(side, game.view[side], Object.fromEntries(new FormData(form)));
  if (typeof list === "string") return refuse(list);
  button.dataset.ack = "pending";
  let answer = {};
  for (const command of list) {
    const one = await order(command);
    if (one.event) answer = one;
    if (one.refused) {
      answer = one;
      break;
    }
    await pause(PACE);
  }
  settle(button, answer);
  if (answer.refused) return;
  dirty.delete(form);
  tell("Saved.");
  render();
}

// changes are the commands that make a team what the form says, or why it cannot be read.
function changes(side, team, said) {
  const list = [], set = { do: "team", team: side };
  for (const k of ["name", "short", "color"]) {
    const value = said[k].trim();
    if (value && value !== team[k] && !(k === "color" && !team.color && value === "#767d8a")) set[k] = value;
  }
  if (Object.keys(set).length > 2) list.push(set);
  const had = new Map(team.players.map((p) => [p.number, p.name]));
  for (const line of said.roster.split("\n").map((l) => l.trim()).filter(Boolean)) {
    const [, number, name] = line.match(/^#?(\d{1,3})[\s.,:-]*(.*)$/) ?? [];
    if (!number) return "“" + line + "” has no number: write it first, as 12 " + line;
    if (had.get(number) !== name) list.push({ do: "roster", team: side, by: number, ...(name ? { name } : {}) });
    had.delete(number);
  }
  return [...[...had.keys()].map((by) => ({ do: "roster_off", team: side, by })), ...list];
}

sends(at("league"), async (b) => settle(b, await league(at("league").elements.rules.value)));

fire.unpair = async () => {
  const answer = await fetch("/unpair", { method: "POST" }).catch(() => null);
  if (answer?.ok) location.reload();
  else refuse("the host did not unpair this desk: try again, or revoke it there with rafter token revoke");
};

// A screen that falls asleep takes the desk along. Only a secure page may keep it awake.
let lock = null;
export const sleeps = () => !window.isSecureContext || !navigator.wakeLock;

async function stayAwake() {
  let says = "The screen is kept awake while this page is open.";
  if (sleeps()) {
    says = "This page cannot keep the screen awake" + (window.isSecureContext ? "" : ", because it is not a secure one") +
      ": set the time until the screen sleeps to its longest in this device’s own settings" +
      (window.isSecureContext ? "." : ", or have the host started with --tls.");
  } else if (!lock && !document.hidden) {
    try {
      lock = await navigator.wakeLock.request("screen");
      lock.addEventListener("release", () => { lock = null; });
    } catch {
      says = "This device does not keep the screen awake just now (its battery may be low): look at its own settings.";
    }
  }
  text(at("awake"), says);
}
document.addEventListener("visibilitychange", stayAwake);
document.addEventListener("click", stayAwake, { once: true });
stayAwake();
