// One frame: what is typed is drawn at once, kept when it is done, and written when that is asked for.

import { Refused, announce, get, post, showProblems, trying } from "./desk.js";
import { Found } from "./frame_found.js";
import {
  Refusals, asked, by, controlsOf, fieldOf, keyOf, renew, showEcho, showLacking, tellOf,
} from "./frame_list.js";
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
  entered: (key) => tellOf(key),
  typed: (key, control) => typed(key, control),
  done: (key, control) => done(key, control),
  left: (key, control) => done(key, control),
  escaped: (key, control) => escaped(key, control),
  drag(key, answer) {
    dragging = key;
    see({ key, answer }, true);
  },
  dropped: (key, answer) => keep(key, answer),
  released() {
    dragging = "";
    by("drag").textContent = "";
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
function showState(state, { trying: tried = false, sent = null, aside = false } = {}) {
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
    fillText(state);
    by("undo").disabled = !past.length;
    by("redo").disabled = !future.length;
    if (state.layout && state.layout !== layout) listAnew(state.layout);
  }
  views.show(state);
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
    layout = answer.layout;
    renew(answer.html);
    for (const field of document.querySelectorAll("[data-answer]")) {
      if (field !== document.activeElement) put(field, refusals.answer(field.dataset.answer, values[field.dataset.answer] ?? ""));
    }
    refusals.again();
    showLacking(lacking, words.wanted);
  });
  listing = "";
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
    // A drag gives more places than are drawn: the newest waits, the others are passed over.
    looking.next = value;
    return;
  }
  looking?.stop?.abort();
  const mine = { stop: dragged ? null : new AbortController(), next: null };
  looking = mine;
  try {
    const state = await post(`${url}/see`, { ...value, screens: views.screens() }, mine.stop?.signal);
    if (looking !== mine) return;
    trial = value;
    showState(state, { trying: true });
    if (!dragged) tellWrong(value.key, [], state.echo);
    else found.meets(value);
  } catch (error) {
    if (error.name === "AbortError") return;
    if (!(error instanceof Refused)) throw error;
    if (!dragged && looking === mine) tellWrong(value.key, error.problems);
  } finally {
    if (looking === mine) {
      looking = null;
      if (mine.next) see(mine.next, true);
    }
  }
}

function done(key, control) {
  const answer = control.value;
  if (refusals.has(key, answer)) return;
  if (answer !== (values[key] ?? "")) keep(key, answer, control);
  else if (trial?.key === key) {
    trial = null;
    refusals.drop(key);
    showEcho("");
    refresh();
  }
}

function escaped(key, control) {
  control.value = values[key] ?? "";
  typed(key, control);
  refusals.drop(key);
  trial = null;
}

// Kept one after the other, so that two quick answers meet the draft in their order.
let keeping = Promise.resolve();
let waiting = 0;
function keep(key, answer, control = null, step = true) {
  const before = values[key] ?? "";
  if (answer === before && step) {
    if (trial?.key === key) trial = null;
    refresh();
    return keeping;
  }
  waiting += 1;
  keeping = keeping.then(() => kept(key, answer, control, step, before)).finally(() => { waiting -= 1; });
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
    showState(state, { sent: { key, answer } });
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
    const state = await post(`${url}/see`, { screens: views.screens(), whole: true });
    if (!(aside && busy())) showState(state, { aside });
    if (trial?.key) see(trial);
  };
  // Nobody is told that a look which nobody asked for came to nothing.
  await (aside ? shown().catch(() => {}) : trying(shown));
}

function busy() {
  return Boolean(trial || looking || dragging || dirty || waiting || !by("conflict").hidden);
}

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

// --- the list of answers

by("answers").addEventListener("input", (event) => {
  const field = event.target.closest("[data-answer]");
  if (field) typed(field.dataset.answer, field);
});
by("answers").addEventListener("change", (event) => {
  const field = event.target.closest("[data-answer]");
  if (field) done(field.dataset.answer, field);
});
by("answers").addEventListener("focusin", (event) => {
  const field = event.target.closest("[data-answer]");
  if (field) views.light({ about: [], keys: [field.dataset.answer], at: null });
});
by("answers").addEventListener("focusout", () => views.light({ about: [], keys: [], at: null }));
by("answers").addEventListener("keydown", (event) => {
  const field = event.target.closest("[data-answer]");
  if (field && event.key === "Escape") escaped(field.dataset.answer, field);
});

// --- two versions

function showConflict(state, aside = false) {
  const panel = by("conflict");
  const first = panel.hidden;
  panel.hidden = false;
  panel.seen = state.digest;
  panel.draft = state.draft;
  panel.of = state.conflict.of;
  const told = state.conflict.told;
  by("conflict-title").textContent = told.title;
  by("conflict-what").textContent = told.what;
  by("mine").textContent = told.mine;
  by("theirs").textContent = told.theirs;
  by("label-theirs").textContent = told.on_disk;
  by("label-mine").textContent = told.here;
  by("text-theirs").textContent = state.conflict.theirs;
  by("text-mine").textContent = dirty ? text.value : state.conflict.mine;
  const changes = { ...state.conflict.changes };
  if (trial?.key) changes[asked(trial.key).ask] = trial.answer;
  by("conflict-changes").textContent = Object.entries(changes)
    .map(([key, value]) => `${key}: ${value || words.out}`)
    .join("; ");
  // Whoever types is told, and not taken away from what is typed.
  if (first && !aside) by("conflict-title").focus();
  else if (first) announce(told.title);
}

for (const which of ["mine", "theirs"]) {
  by(which).addEventListener("click", () =>
    trying(async () => {
      const mine = which === "mine";
      const waits = mine && trial?.key ? trial : null;
      past.length = 0;
      future.length = 0;
      trial = null;
      const sent = mine && dirty ? { text: text.value } : {};
      const value = { digest: by("conflict").seen, screens: views.screens(), whole: true, ...sent };
      // Between draft and text nothing is settled with the file: the text is kept on what was just shown, or not.
      const state = by("conflict").of !== "draft"
        ? await post(`${url}/settle`, { mine, ...value })
        : mine ? await post(`${url}/set`, { draft: by("conflict").draft, ...value }) : await post(`${url}/see`, value);
      if (!state.conflict && mine) clean(sent.text);
      else if (!state.conflict) dirty = false;
      showState(state);
      if (waits && !state.conflict) keep(waits.key, waits.answer);
    }),
  );
}

// --- the text

let meant = null;
const text = by("text");
let textBefore = text.value;
// Whether something is typed that is not kept. It stays whatever comes, and is kept before all else is.
let dirty = false;
// The draft that the text was filled from.
let textDraft = words.draft;

function fillText(state) {
  if (state.text === null || dirty) return;
  if (text.value !== state.text.replaceAll("\r\n", "\n")) text.value = state.text;
  textBefore = text.value;
  textDraft = state.draft;
}

// What was sent is kept; what was typed since is not.
function clean(sent) {
  if (sent === undefined || text.value !== sent) return;
  dirty = false;
}

async function keepTyped() {
  return !dirty || ((await keepText(text.value)) && !dirty);
}

async function keyHere() {
  meant ??= await get(`${url}/keys`);
  const above = text.value.slice(0, text.selectionStart).split("\n");
  const line = text.value.split("\n")[above.length - 1];
  const name = /^\s*([A-Za-z_-]+)\s*=/.exec(line)?.[1];
  const table = above.map((each) => /^\s*\[([A-Za-z_.-]+)\]/.exec(each)?.[1]).filter(Boolean).pop();
  const key = table ? `${table}.${name}` : name;
  by("text-key").textContent = name && meant[key] ? `${key}: ${meant[key]}` : "";
}

for (const event of ["keyup", "click", "focus"]) {
  text.addEventListener(event, () => trying(keyHere, by("text-problems")));
}
text.addEventListener("input", () => {
  dirty = text.value !== textBefore;
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
  const before = textBefore;
  let kept = false;
  await trying(async () => {
    const value = { text: wanted, digest, draft: textDraft, screens: views.screens(), whole: true };
    const state = await post(`${url}/set`, value);
    kept = !state.conflict;
    if (kept) {
      if (step) {
        past.push({ text: { before, after: wanted } });
        future.length = 0;
      }
      trial = null;
      clean(wanted);
      textBefore = wanted;
      textDraft = state.draft;
    }
    showState(state);
  }, by("text-problems"));
  if (!kept && by("conflict").hidden) by("whole").open = true;
  return kept;
}

by("keep").addEventListener("click", () => keepText(text.value));

let resized = 0;
let width = 0;
new ResizeObserver(() => {
  const wide = views.screens().side[0];
  if (Math.abs(wide - width) < 2) return;
  width = wide;
  clearTimeout(resized);
  resized = setTimeout(() => refresh(), 60);
}).observe(document.querySelector("#side .stage"));
