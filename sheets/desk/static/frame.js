// One frame: what is typed is drawn at once, kept when it is done, and written when that is asked for.

import { Refused, announce, get, post, showProblems, trying } from "./desk.js";
import { Views } from "./frame_view.js";

const root = document.getElementById("frame");
const words = root.dataset;
const url = words.url;
const by = (id) => document.getElementById(id);

let digest = words.digest;
let layout = words.layout;
let values = {};
let trial = null;
let looking = null;
let judging = null;
let judgeSoon = 0;
let dragging = "";
const past = [];
const future = [];

function fieldOf(key) {
  return document.querySelector(`[data-answer="${CSS.escape(key)}"]`);
}

function asked(key) {
  const field = fieldOf(key);
  const answer = field?.closest(".answer");
  const letter = answer?.querySelector(".mark")?.textContent ?? "";
  const whole = answer?.querySelector("label").textContent.trim() ?? key;
  return { letter, ask: whole.slice(letter.length).trim(), answer };
}

const views = new Views(asked, {
  entered(key, control) {
    if (control.dataset.measure) control.kept = values[key] ?? "";
    tellOf(key);
  },
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

// --- what stands on the page

function showState(state, trying_ = false) {
  if (state.conflict) showConflict(state);
  else by("conflict").hidden = true;
  if (!trying_) {
    const here = document.activeElement;
    const key = here?.dataset?.measure ?? here?.dataset?.answer;
    // What is being typed stays; what was done is shown as it is kept now.
    const idle = key && here.value === (values[key] ?? "");
    digest = state.digest;
    values = state.values;
    if (idle || (key && !trial)) here.value = values[key] ?? "";
    words.inches = values["paper.units"] === "in" ? "yes" : "";
    by("state").textContent = state.changed ? words.kept : words.filed;
    by("write").disabled = !state.changed;
    for (const field of document.querySelectorAll("[data-answer]")) {
      if (field !== document.activeElement) field.value = values[field.dataset.answer] ?? "";
    }
    fillText(state);
    by("undo").disabled = !past.length;
    by("redo").disabled = !future.length;
    if (state.layout !== layout) renew(state.layout);
  }
  views.show(state);
  showLacking(state.problems);
  judge();
}

function renew(wanted) {
  layout = wanted;
  return trying(listAnew);
}

async function listAnew() {
  const open = [...document.querySelectorAll("#answers details[open][id]")].map((each) => each.id);
  const focused = document.activeElement?.dataset?.answer;
  const answer = await get(`${url}/answers`);
  layout = answer.layout;
  const made = new DOMParser().parseFromString(answer.html, "text/html");
  by("answers").replaceChildren(...made.body.childNodes);
  for (const id of open) by(id)?.setAttribute("open", "");
  if (focused) fieldOf(focused)?.focus();
}

// Each leads to its field, or to the first of its table.
function showLacking(problems) {
  const shown = by("lacking");
  showProblems(problems, shown);
  problems.forEach((each, number) => {
    const field = fieldOf(each.where) ?? document.querySelector(`[data-answer^="${CSS.escape(each.where)}."]`);
    if (!each.where || !field) return;
    const leads = Object.assign(document.createElement("button"), { className: "jump", textContent: each.where });
    leads.addEventListener("click", () => {
      for (let at = field.closest("details"); at; at = at.parentElement.closest("details")) at.open = true;
      field.focus();
      field.scrollIntoView({ block: "center" });
    });
    shown.children[number].replaceChildren(leads, each.text);
  });
}

function tellOf(key) {
  const { letter, ask, answer } = asked(key);
  const told = by("asked");
  const head = document.createElement("p");
  head.textContent = letter ? `${letter}: ${ask}` : ask;
  head.className = "question";
  const parts = [head];
  const why = answer?.querySelector(".why")?.firstChild?.textContent?.trim();
  if (why) parts.push(Object.assign(document.createElement("p"), { textContent: why }));
  for (const each of answer?.querySelectorAll(".explain p") ?? []) {
    parts.push(Object.assign(document.createElement("p"), { textContent: each.textContent, className: "quiet" }));
  }
  const echo = document.createElement("p");
  echo.className = "echo";
  echo.id = "echo";
  told.replaceChildren(head, echo, ...parts.slice(1));
}

function showEcho(text) {
  const echo = by("echo");
  if (echo) echo.textContent = text;
}

function wrong(control, problems, key) {
  control?.toggleAttribute("aria-invalid", problems.length > 0);
  if (control && problems.length) control.setAttribute("aria-invalid", "true");
  control?.closest(".box")?.classList.toggle("wrong", problems.length > 0);
  const place = fieldOf(key)?.closest(".answer")?.querySelector(".wrong");
  const text = problems.map((each) => each.text).join(" ");
  if (place) place.textContent = text;
  showEcho(text);
  by("echo")?.classList.toggle("stop", problems.length > 0);
}

// --- typing, keeping, taking back

function typed(key, control) {
  trial = { key, answer: control.value };
  for (const each of document.querySelectorAll(`[data-measure="${CSS.escape(key)}"], [data-answer="${CSS.escape(key)}"]`)) {
    if (each !== control) each.value = control.value;
  }
  see(trial, false, control);
}

async function see(value, dragged, control = null) {
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
    showState(state, true);
    wrong(control, [], value.key);
    showEcho(state.echo);
    if (dragged) meets(value);
  } catch (error) {
    if (error.name === "AbortError") return;
    if (!(error instanceof Refused)) throw error;
    if (control) wrong(control, error.problems, value.key);
  } finally {
    if (looking === mine) {
      looking = null;
      if (mine.next) see(mine.next, true);
    }
  }
}

let meeting = false;
let meetNext = null;
async function meets(value) {
  meetNext = value;
  if (meeting) return;
  meeting = true;
  clearTimeout(judgeSoon);
  try {
    while (meetNext) {
      const now = meetNext;
      meetNext = null;
      const answer = await post(`${url}/judge`, { ...now, what: "meets" });
      if (dragging !== now.key) continue;
      if (answer.superseded) {
        await new Promise((resolve) => setTimeout(resolve, 200));
        meetNext ??= now;
        continue;
      }
      by("drag").textContent = answer.text;
      by("drag").className = { fail: "stop", warn: "look", unknown: "look" }[answer.state] ?? "go";
      views.light({ about: answer.state === "ok" ? [] : answer.about, keys: [now.key], at: answer.at });
    }
  } catch (error) {
    if (!(error instanceof Refused)) throw error;
  } finally {
    meeting = false;
    judge();
  }
}

function done(key, control) {
  if (control.value === (values[key] ?? "")) {
    if (trial?.key === key) {
      trial = null;
      wrong(control, [], key);
    }
    return;
  }
  keep(key, control.value, control);
}

function escaped(key, control) {
  control.value = values[key] ?? "";
  typed(key, control);
  trial = null;
}

// Kept one after the other, so that two quick answers meet the draft in their order.
let keeping = Promise.resolve();
function keep(key, answer, control = null, step = true) {
  const before = values[key] ?? "";
  if (answer === before && step) {
    trial = null;
    refresh();
    return keeping;
  }
  keeping = keeping.then(async () => {
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
      trial = null;
      showState(state);
      wrong(control, [], key);
      showEcho(state.echo);
    } catch (error) {
      if (!(error instanceof Refused)) throw error;
      trial = null;
      if (control ?? fieldOf(key)) wrong(control ?? fieldOf(key), error.problems, key);
      if (!control) showProblems(error.problems);
    }
  });
  return keeping;
}

async function refresh() {
  await trying(async () => showState(await post(`${url}/see`, { screens: views.screens(), whole: true })));
}

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
  const key = here?.dataset?.answer ?? here?.dataset?.measure;
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

// --- what is found

function judge() {
  clearTimeout(judgeSoon);
  // What a drag meets comes first; all that is found comes when that is told.
  if (meeting) return;
  judgeSoon = setTimeout(judged, 300);
}

async function judged() {
  judging?.abort();
  const mine = (judging = new AbortController());
  by("findings").setAttribute("aria-busy", "true");
  const what = trial ? { ...trial } : {};
  try {
    const answer = await post(`${url}/judge`, { ...what, what: "found" }, mine.signal);
    if (judging !== mine) return;
    if (answer.superseded) {
      judgeSoon = setTimeout(judged, 900);
      return;
    }
    showFound(answer, what);
  } catch (error) {
    if (error.name === "AbortError" || judging !== mine) return;
    if (!(error instanceof Refused)) throw error;
    by("answer").textContent = error.problems.some((each) => each.where) ? words.refused : error.message;
    by("answer").className = "unknown";
    by("findings").replaceChildren();
    by("tilts").replaceChildren();
  }
  by("findings").removeAttribute("aria-busy");
}

function showFound(found, what) {
  by("answer").textContent = found.answer;
  by("answer").className = found.level;
  views.ranges = found.tilt?.ranges ?? [];
  by("tilts").replaceChildren(
    ...(found.tilt?.sentences ?? []).map((text) => Object.assign(document.createElement("p"), { textContent: text })),
  );
  const items = found.findings.map((each) => finding(each, what));
  by("findings").replaceChildren(...items);
  cureNext(items.filter((each) => each.each.level === "stop"), what);
}

function finding(each, what) {
  const item = document.createElement("li");
  item.className = `finding level-${each.level}`;
  item.each = each;
  item.tabIndex = 0;
  const word = document.createElement("b");
  word.textContent = each.word;
  const text = document.createElement("p");
  text.append(word, ` ${each.text}`);
  item.append(text);
  if (each.remedy) item.append(Object.assign(document.createElement("p"), { textContent: each.remedy, className: "quiet" }));
  if (each.spoiled.length) {
    const lacks = document.createElement("p");
    lacks.append(`${words.spoiled} `);
    for (const key of each.spoiled) lacks.append(jump(key), " ");
    item.append(lacks);
  }
  if (each.curable) {
    const place = document.createElement("div");
    place.className = "cures";
    item.cures = place;
    if (each.level !== "stop") {
      const ask = Object.assign(document.createElement("button"), { textContent: words.cure });
      ask.addEventListener("click", () => cureNext([item], what));
      place.append(ask);
    }
    item.append(place);
  }
  const on = () => views.light({ about: each.about, keys: [...each.keys, ...each.spoiled], at: each.at });
  const off = () => views.light({ about: [], keys: [], at: null });
  item.addEventListener("pointerenter", on);
  item.addEventListener("pointerleave", off);
  item.addEventListener("focusin", on);
  item.addEventListener("focusout", off);
  return item;
}

// A button that leads to what is not measured yet.
function jump(key) {
  const { letter, ask } = asked(key);
  const made = Object.assign(document.createElement("button"), { className: "jump" });
  made.textContent = letter ? `${letter}: ${ask}` : ask;
  made.addEventListener("click", () => {
    const box = document.querySelector(`[data-measure="${CSS.escape(key)}"]`);
    const field = box ?? fieldOf(key);
    field?.closest("details")?.setAttribute("open", "");
    field?.focus();
    field?.scrollIntoView({ block: "center" });
  });
  return made;
}

async function cureNext(items, what) {
  for (const item of items) {
    if (!item.isConnected || !item.cures) return;
    item.cures.textContent = words.searching;
    let answer;
    try {
      const { code, subject } = item.each;
      answer = await post(`${url}/judge`, { ...what, what: "cures", code, subject });
    } catch (error) {
      if (!(error instanceof Refused)) throw error;
      item.cures.textContent = error.message;
      continue;
    }
    if (answer.superseded || !item.isConnected) return;
    const lines = answer.cures.map((cure) => {
      const made = Object.assign(document.createElement("button"), { textContent: cure.text, className: "cure" });
      made.addEventListener("click", () => keep(cure.key, cure.answer));
      return made;
    });
    item.cures.replaceChildren(...(lines.length ? lines : [answer.none]));
  }
}

// --- two versions

function showConflict(state) {
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
  if (trial?.key) changes[trial.key] = trial.answer;
  by("conflict-changes").textContent = Object.entries(changes)
    .map(([key, value]) => `${key}: ${value || words.out}`)
    .join("; ");
  if (first) by("conflict-title").focus();
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
    showState(state, true);
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
  resized = setTimeout(refresh, 60);
}).observe(document.querySelector("#side .stage"));
