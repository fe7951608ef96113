// One frame: what is typed is drawn at once, kept when it is done, and written when that is asked for.

import { Refused, announce, get, post, showProblems, trying } from "./desk.js";
import { showVersions } from "./frame_conflict.js";
import { Found } from "./frame_found.js";
import { follow, helps, hideHelp, showHelp } from "./frame_help.js";
import {
  Refusals, asked, by, controlsOf, fieldOf, keyOf, listen, order, renew, showEcho, showLacking, showTaken,
} from "./frame_list.js";
import { steady } from "./frame_steady.js";
import { whole } from "./frame_text.js";
import { Views } from "./frame_view.js";

const root = document.getElementById("frame");
const words = root.dataset;
const url = words.url;
// How often a page looks whether another one, or another program, has changed its frame.
const LOOK = 2000;

let digest = words.digest;
let draft = words.draft;
let layout = words.layout;
let values = {};
let trial = null;
let looking = null;
let dragging = "";
// Counts answers that were given, so that what was asked for before one is not shown after it.
let turn = 0;
// Whether a state was passed over because another answer was on its way.
let undrawn = false;
const past = [];
const future = [];

const refusals = new Refusals(words, (key, answer) => {
  const field = fieldOf(key);
  for (const each of controlsOf(key)) each.value = answer;
  refusals.drop(key);
  keep(key, answer, field);
});

const views = new Views(asked, {
  shown: (key, kept) => refusals.answer(key, kept),
  entered: (key, control) => showHelp(key, control),
  order,
  next: (key, control) => goOn(key, control),
  typed: (key, control) => typed(key, control),
  done: (key, control) => done(key, control),
  left(key, control, to) {
    done(key, control);
    if (!to || !helps(to)) hideHelp();
  },
  escaped: (key, control) => escaped(key, control),
  drag(key, answer) {
    dragging = key;
    see({ key, answer }, true);
  },
  dropped(key, answer) {
    // Where it was on the way there counts no more.
    if (trial?.key === key) trial = null;
    keep(key, answer);
  },
  released(to) {
    dragging = "";
    by("drag").textContent = "";
    if (!to || !helps(to)) hideHelp();
  },
}, words);

const found = new Found(url, words, {
  views,
  trial: () => trial,
  dragged: () => dragging,
  take: (key, answer) => keep(key, answer),
});

// --- what stands on the page

// Shows a frame as it stands, or as it would; `sent` is the answer that was just kept, `aside` says that nobody
// here asked for it.
function showState(state, how = {}) {
  steady(() => putState(state, how));
}

function putState(state, { trying: tried = false, sent = null, aside = false, drawn = true }) {
  if (state.conflict) showConflict(state, aside);
  else by("conflict").hidden = true;
  if (!tried) {
    digest = state.digest;
    draft = state.draft;
    const here = document.activeElement;
    const key = keyOf(here);
    // What is being typed stays; what was done is shown as it is kept now.
    const rests = key && (here.value === (values[key] ?? "") || (sent?.key === key && here.value === sent.answer));
    values = state.values;
    if (rests) put(here, refusals.answer(key, values[key] ?? ""));
    words.inches = values["paper.units"] === "in" ? "yes" : "";
    by("state").textContent = state.changed ? words.kept : words.filed;
    by("write").disabled = !state.changed;
    for (const field of document.querySelectorAll("[data-answer]")) {
      if (field !== here) put(field, refusals.answer(field.dataset.answer, values[field.dataset.answer] ?? ""));
    }
    whole.fill(state);
    by("undo").disabled = !past.length;
    by("redo").disabled = !future.length;
    if (state.layout && state.layout !== layout) listAnew(state.layout);
  }
  // What is shown without an answer that is on its way would go and come again.
  undrawn = !drawn;
  if (undrawn) return;
  views.show(state);
  if (state.assumed) showTaken(state.assumed);
  follow();
  lacking = state.problems;
  showLacking(lacking, words.wanted);
  found.judge();
}

// A value that is the same already is not put again: that would move the caret.
function put(control, value) {
  if (control.value !== value) control.value = value;
}

let listing = "";
let lacking = [];
async function listAnew(wanted) {
  if (listing === wanted) return;
  listing = wanted;
  await trying(async () => {
    const answer = await get(`${url}/answers`);
    // One that was asked for before is older than what is shown by then.
    if (listing === wanted) steady(() => putList(answer));
  });
  if (listing === wanted) listing = "";
}

function putList(answer) {
  layout = answer.layout;
  renew(answer.html);
  for (const field of document.querySelectorAll("[data-answer]")) {
    if (field !== document.activeElement) put(field, refusals.answer(field.dataset.answer, values[field.dataset.answer] ?? ""));
  }
  refusals.again();
  showLacking(lacking, words.wanted);
}

// Says what is wrong with what is being typed, or that nothing is.
function tellWrong(key, problems, echo = "") {
  refusals.tell(key, problems);
  showEcho(problems.length ? problems.map((each) => each.text).join(" ") : echo, problems.length > 0);
}

// --- typing, keeping, taking back

function typed(key, control) {
  trial = { key, answer: control.value };
  if (!refusals.has(key, control.value)) refusals.drop(key);
  for (const each of controlsOf(key)) {
    if (each !== control) put(each, control.value);
  }
  see(trial);
}

async function see(value, dragged = false) {
  if (dragged && looking) {
    // The newest place of a drag waits, the others are passed over.
    looking.next = value;
    return;
  }
  looking?.stop?.abort();
  const mine = { stop: dragged ? null : new AbortController(), next: null, key: value.key };
  looking = mine;
  try {
    // What is drawn without an answer that is being kept would take away what that one brought.
    while (waiting) await keeping;
    // What was kept, or taken back, meanwhile is typed no more.
    const over = () => looking !== mine || (!dragged && trial !== value);
    if (over()) return;
    const state = await post(`${url}/see`, { ...value, screens: views.screens() }, mine.stop?.signal);
    if (over()) return;
    if (waiting) {
      // An answer was given meanwhile: this one is drawn on top of it.
      mine.next ??= value;
      return;
    }
    trial = value;
    showState(state, { trying: true });
    if (!dragged) tellWrong(value.key, [], state.echo);
    else found.meets(value);
  } catch (error) {
    if (error.name === "AbortError") return;
    if (!(error instanceof Refused)) throw error;
    if (dragged || looking !== mine) return;
    tellWrong(value.key, error.problems);
    if (undrawn) refresh();
  } finally {
    if (looking === mine) {
      looking = null;
      if (mine.next) see(mine.next, dragged);
    }
  }
}

function done(key, control) {
  const answer = control.value;
  if (refusals.has(key, answer)) return;
  if (answer !== (values[key] ?? "")) return keep(key, answer, control);
  if (trial?.key === key) {
    trial = null;
    refusals.drop(key);
    showEcho("");
    refresh();
  }
}

// Enter goes on to what is asked next, and comes back where the answer is refused and nothing was typed since.
function goOn(key, control) {
  const wrong = control.getAttribute("aria-invalid") === "true";
  const kept = done(key, control);
  const next = wrong ? null : views.after(key, control) ?? null;
  if (!next) return;
  next.focus();
  kept?.then(() => {
    const there = keyOf(next);
    if (refusals.has(key, control.value) && document.activeElement === next && next.value === (values[there] ?? "")) {
      control.focus();
      showEcho(refusals.said(key), true);
    }
  });
}

function escaped(key, control) {
  if (control.value === (values[key] ?? "")) hideHelp();
  control.value = values[key] ?? "";
  for (const each of controlsOf(key)) put(each, control.value);
  refusals.drop(key);
  trial = null;
  showEcho("");
  refresh();
}

let keeping = Promise.resolve();
let waiting = 0;
// What is on its way, by key: whoever presses Enter and so leaves the box gives one answer.
const given = new Map();
function keep(key, answer, control = null, step = true) {
  const before = values[key] ?? "";
  if (given.get(key) === answer && step) return keeping;
  if (answer === before && step) {
    if (trial?.key === key) trial = null;
    refresh();
    return keeping;
  }
  waiting += 1;
  turn += 1;
  given.set(key, answer);
  if (looking?.key === key) {
    looking.stop?.abort();
    looking = null;
  }
  keeping = keeping.then(() => kept(key, answer, control, step, before)).finally(() => {
    waiting -= 1;
    if (waiting) return;
    given.clear();
    if (undrawn && !looking) refresh();
  });
  return keeping;
}

async function kept(key, answer, control, step, before) {
  // What was typed since, here or into another field, is still only typed.
  const past_ = () => { if (trial?.key === key && trial.answer === answer) trial = null; };
  try {
    // An answer on top of a text that is not kept would be lost with it, or the text with the answer.
    if (!(await keepTyped())) return;
    const state = await post(`${url}/set`, { key, answer, digest, screens: views.screens(), whole: true });
    if (state.conflict) {
      showState(state);
      return;
    }
    if (step) {
      past.push({ key, before, after: state.values[key] ?? "" });
      future.length = 0;
    }
    past_();
    refusals.drop(key);
    showState(state, { sent: { key, answer }, drawn: waiting < 2 && !trial?.key });
    showEcho(keyOf(document.activeElement) === key ? state.echo : "");
    if (trial?.key) see(trial);
  } catch (error) {
    if (!(error instanceof Refused)) throw error;
    past_();
    if (!fieldOf(key)) {
      showProblems(error.problems);
      return;
    }
    refusals.keep(key, answer, error.problems);
    const said = error.problems.map((each) => each.text).join(" ");
    if (keyOf(document.activeElement) === key) showEcho(said, true);
    else announce(said);
  }
}

async function refresh(aside = false) {
  const shown = async () => {
    if (!aside) await keeping;
    const asked = turn;
    const state = await post(`${url}/see`, { screens: views.screens(), whole: true });
    // An answer that was given meanwhile is newer than this, and shows itself.
    if (asked !== turn) return;
    if (!(aside && busy())) showState(state, { aside });
    if (trial?.key) see(trial);
  };
  // Nobody is told that a look which nobody asked for came to nothing.
  await (aside ? shown().catch(() => {}) : trying(shown));
}

const busy = () => Boolean(trial || looking || dragging || whole.dirty || waiting || !by("conflict").hidden);

async function look() {
  if (document.hidden || busy()) return;
  const now = await get(`${url}/stands`);
  if (!busy() && (now.digest !== digest || now.draft !== draft)) await refresh(true);
}

setInterval(() => look().catch(() => {}), LOOK);

async function taken(from, to, which) {
  if (!(await keepTyped())) return;
  const step = from.pop();
  if (!step) return;
  to.push(step);
  const told = () => announce(words.undone);
  if ("text" in step) keepText(step.text[which], false).then(told);
  else keep(step.key, step[which], null, false).then(told);
}

by("undo").addEventListener("click", () => taken(past, future, "before"));
by("redo").addEventListener("click", () => taken(future, past, "after"));
document.addEventListener("keydown", (event) => {
  if (!(event.ctrlKey || event.metaKey) || !["z", "y"].includes(event.key.toLowerCase())) return;
  const here = document.activeElement;
  const key = keyOf(here);
  // What is being typed is taken back by the browser.
  if (here === by("text") || (key && here.value !== (values[key] ?? ""))) return;
  event.preventDefault();
  if (event.key.toLowerCase() === "y" || event.shiftKey) taken(future, past, "after");
  else taken(past, future, "before");
});

by("write").addEventListener("click", () =>
  trying(async () => {
    await keeping;
    if (!(await keepTyped())) return;
    const state = await post(`${url}/write`, { digest, screens: views.screens(), whole: true });
    showState(state);
    if (!state.conflict) announce(words.written);
  }),
);

listen({ typed, done, escaped, goOn, light: (keys) => views.light({ about: [], keys, at: null }) });

// --- two versions

function showConflict(state, aside = false) {
  const changes = { ...state.conflict.changes };
  if (trial?.key) changes[asked(trial.key).ask] = trial.answer;
  showVersions(state, whole.dirty ? text.value : null, changes, words.out, aside);
}

for (const which of ["mine", "theirs"]) {
  by(which).addEventListener("click", () =>
    trying(async () => {
      const mine = which === "mine";
      const waits = mine && trial?.key ? trial : null;
      past.length = 0;
      future.length = 0;
      trial = null;
      const sent = mine && whole.dirty ? { text: text.value } : {};
      const value = { digest: by("conflict").seen, screens: views.screens(), whole: true, ...sent };
      // Between draft and text nothing is settled with the file: the text is kept on what was just shown, or not.
      const state = by("conflict").of !== "draft"
        ? await post(`${url}/settle`, { mine, ...value })
        : mine ? await post(`${url}/set`, { draft: by("conflict").draft, ...value }) : await post(`${url}/see`, value);
      if (!state.conflict && mine) whole.clean(sent.text);
      else if (!state.conflict) whole.dirty = false;
      showState(state);
      if (waits && !state.conflict) keep(waits.key, waits.answer);
    }),
  );
}

// --- the text

const text = whole.field;

async function keepTyped() {
  return !whole.dirty || ((await keepText(text.value)) && !whole.dirty);
}

text.addEventListener("input", () => {
  whole.dirty = text.value !== whole.before;
  seeText();
});

async function seeText() {
  looking?.stop?.abort();
  const mine = (looking = { stop: new AbortController(), next: null });
  try {
    trial = { text: text.value };
    const state = await post(`${url}/see`, { text: text.value, screens: views.screens() }, mine.stop.signal);
    if (looking !== mine) return;
    showState(state, { trying: true });
    showProblems([], by("text-problems"));
  } catch (error) {
    if (error.name === "AbortError") return;
    if (!(error instanceof Refused)) throw error;
    showProblems(error.problems, by("text-problems"));
  } finally {
    if (looking === mine) looking = null;
  }
}

// Returns whether the text is kept; where it is refused, or in conflict, it stays as it was typed.
async function keepText(wanted, step = true) {
  const before = whole.before;
  let kept = false;
  await trying(async () => {
    const value = { text: wanted, digest, draft: whole.draft, screens: views.screens(), whole: true };
    const state = await post(`${url}/set`, value);
    kept = !state.conflict;
    if (kept) {
      if (step) {
        past.push({ text: { before, after: wanted } });
        future.length = 0;
      }
      trial = null;
      whole.clean(wanted);
      whole.before = wanted;
      whole.draft = state.draft;
    }
    showState(state);
  }, by("text-problems"));
  if (!kept && by("conflict").hidden) by("whole").open = true;
  return kept;
}

by("keep").addEventListener("click", () => keepText(text.value));

views.resized(() => refresh());
