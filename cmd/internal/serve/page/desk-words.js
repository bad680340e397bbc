// What was keyed, in words: the twin of the script's, with the teams' names.
const KINDS = { personal: "common", technical1: "technical 1", technical2: "technical 2", flagrant1: "flagrant 1", flagrant2: "flagrant 2" };

export const kindOf = (k) => KINDS[k] ?? k;
export const upper = (s) => s.slice(0, 1).toUpperCase() + s.slice(1);
export const points = (n) => n + (Math.abs(n) === 1 ? " point" : " points");

const by = (c) => (c.by ? " by " + c.by : "");
const kind = (c) => (c.kind ? " (" + kindOf(c.kind) + ")" : "");
const timeout = (c) => (c.kind ? c.kind + " timeout" : "timeout");
const given = (c, of) => of.filter((k) => c[k] !== undefined).map((k) => c[k]).join(", ");

const SAID = {
  clock_start: () => "clock started", clock_stop: () => "clock stopped", clock_set: (c) => "clock set to " + c.clock,
  clock_nudge: (c) => "clock moved by " + c.seconds + " s",
  period_next: () => "next period or interval", period_set: (c) => "period " + c.period,
  interval_start: () => "interval clock started", interval_stop: () => "interval clock stopped",
  score: (c, t) => t + ": " + points(c.points) + by(c), score_set: (c, t) => t + ": score is " + c.count,
  foul: (c, t) => t + ": foul" + by(c) + kind(c) + (c.only ? ", " + c.only : ""),
  fouls_set: (c, t) => t + ": fouls" + by(c) + " are " + c.count,
  bonus: (c, t) => t + ": bonus held at " + c.throws.replaceAll("_", " "), bonus_auto: (c, t) => t + ": bonus by the rules",
  control: (c, t) => t + ": first control", arrow: (c, t) => "arrow to " + t, arrow_off: () => "arrow off", arrow_flip: () => "arrow turned",
  timeout: (c, t) => t + ": " + timeout(c), timeout_official: () => "officials’ timeout", timeout_media: () => "media timeout",
  timeout_both: () => "both teams: timeout", timeout_end: () => "timeout ended", timeouts_set: (c, t) => t + ": " + c.kind + " timeouts left are " + c.count,
  shot_reset: () => "shot clock reset", shot_reset_short: () => "shot clock reset, short", shot_set: (c) => "shot clock set to " + c.seconds,
  shot_start: () => "shot clock started", shot_stop: () => "shot clock stopped", shot_off: () => "shot clock off",
  floor: (c, t) => t + ": on the floor " + c.numbers.join(" "), sub: (c, t) => t + ": " + c.by + " for " + c.for,
  take: (c) => "taken over at " + c.home + "–" + c.away,
  show: (c) => "on air: " + c.graphic, lower: (c, t) => t + ": lower third, " + c.by, lower_off: () => "lower third off",
  message: (c) => "message: " + c.text, message_off: () => "message off", horn: () => "horn",
  undo: (c) => "took back " + c.event, redo: (c) => "brought back " + c.event, void: (c) => "took back " + c.event,
  amend: (c, t, said) => "put right " + c.event + ": " + said(c.command),
  forfeit: (c, t) => t + ": forfeit", default: (c, t) => t + ": default", game_over: () => "end of the game",
  team: (c, t) => t + ": " + given(c, ["name", "short", "color"]), roster: (c, t) => t + ": player " + given(c, ["by", "name"]),
  roster_off: (c, t) => t + ": no player " + c.by, set: (c) => "rule " + c.key + ": " + c.value,
};

// inWords says a command; teams is the view, for their names.
export function inWords(c, teams) {
  const said = (c) => SAID[c.do]?.(c, teams[c.team]?.name, said) ?? c.do.replaceAll("_", " ");
  return said(c);
}
