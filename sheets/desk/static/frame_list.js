// The list of answers: its fields, what is wrong with one, and the list made anew without moving what is in use.

export const by = (id) => document.getElementById(id);

export function fieldOf(key) {
  return document.querySelector(`[data-answer="${CSS.escape(key)}"]`);
}

// Every control into which an answer can be typed: its field, and its boxes on the pictures.
export function controlsOf(key) {
  const name = CSS.escape(key);
  return document.querySelectorAll(`[data-measure="${name}"], [data-answer="${name}"]`);
}

export function keyOf(control) {
  return control?.dataset?.answer ?? control?.dataset?.measure;
}

// The id of what is said of a refused answer, for whoever hears it.
export function saidId(key) {
  return `p-${key.replace(/[^a-z0-9]+/g, "-")}`;
}

// What a measure is called: its letter, what is asked, and the place of its answer.
export function asked(key) {
  const answer = fieldOf(key)?.closest(".answer");
  const letter = answer?.querySelector(".mark")?.textContent ?? "";
  const whole = answer?.querySelector("label").textContent.trim() ?? key;
  return { letter, ask: whole.slice(letter.length).trim(), answer };
}

// Leads to an answer: to its box on a picture where `drawn` says so and it has one, else to its field.
export function goTo(key, drawn = false) {
  const box = drawn ? document.querySelector(`[data-measure="${CSS.escape(key)}"]`) : null;
  const field = box ?? fieldOf(key) ?? document.querySelector(`[data-answer^="${CSS.escape(key)}."]`);
  for (let at = field?.closest("details"); at; at = at.parentElement.closest("details")) at.open = true;
  field?.focus();
  field?.scrollIntoView({ block: "center" });
}

// A button that leads there, called as what is asked; null where no such answer is.
export function jump(key, label = "", drawn = false) {
  const { letter, ask, answer } = asked(key);
  if (!answer && !document.querySelector(`[data-answer^="${CSS.escape(key)}."]`)) return null;
  const made = Object.assign(document.createElement("button"), { className: "jump", type: "button" });
  made.textContent = answer ? (letter ? `${letter}: ${ask}` : ask) : label || ask;
  made.addEventListener("click", () => goTo(key, drawn));
  return made;
}

// Hears what is done in the list: `on` has typed, done, escaped, goOn and light.
export function listen(on) {
  const heard = (name, what) => by("answers").addEventListener(name, (event) => {
    const field = event.target.closest("[data-answer]");
    if (field) what(field.dataset.answer, field, event);
  });
  heard("input", on.typed);
  heard("change", on.done);
  heard("focusin", (key) => on.light([key]));
  by("answers").addEventListener("focusout", () => on.light([]));
  heard("keydown", (key, field, event) => {
    if (event.key === "Escape") on.escaped(key, field);
    if (event.key === "Enter" && field.tagName === "INPUT") on.goOn(key, field);
  });
}

// Takes over a list that was made anew: what is the same stays as it is, with focus, caret and open folds.
export function renew(html) {
  const fresh = new DOMParser().parseFromString(html, "text/html");
  merge(by("answers"), fresh.body, (each) => each.id, table);
  showTaken();
}

function table(old, fresh) {
  const [was, is] = [old, fresh].map((each) => each.querySelector("details.rare"));
  was.hidden = is.hidden;
  mergeFields(old.querySelector(":scope > .answers"), fresh.querySelector(":scope > .answers"));
  mergeFields(was.querySelector(".answers"), is.querySelector(".answers"));
  return old;
}

function field(old, fresh) {
  // What is being typed into is left alone, and so is what says the same.
  if (old.contains(document.activeElement) || old.dataset.version === fresh.dataset.version) return old;
  fresh.querySelector("details")?.toggleAttribute("open", old.querySelector("details")?.open ?? false);
  const made = document.adoptNode(fresh);
  old.replaceWith(made);
  return made;
}

// Tables stand in their order.
function merge(here, wanted, nameOf, taken) {
  const fresh = [...wanted.children];
  const names = new Set(fresh.map(nameOf));
  for (const each of [...here.children]) {
    if (!names.has(nameOf(each)) && !each.contains(document.activeElement)) each.remove();
  }
  const known = new Map([...here.children].map((each) => [nameOf(each), each]));
  // The order is the same on both sides, so that nothing which is there has to be moved.
  let before = null;
  for (const each of fresh) {
    const old = known.get(nameOf(each));
    const stays = old ? taken(old, each) : document.adoptNode(each);
    if (!old) here.insertBefore(stays, before ? before.nextSibling : here.firstChild);
    before = stays;
  }
}

// Fields stay where they are, whatever comes up or goes: one that comes up stands last until the page is loaded
// anew, and one that goes leaves its place empty.
function mergeFields(here, wanted) {
  const fresh = new Map([...wanted.children].map((each) => [each.dataset.key, each]));
  for (const each of [...here.children]) {
    if (fresh.has(each.dataset.key) || each.contains(document.activeElement) || each.inert) continue;
    const empty = document.createElement("div");
    empty.dataset.key = each.dataset.key;
    empty.inert = true;
    empty.style.minHeight = `${each.offsetHeight}px`;
    each.replaceWith(empty);
  }
  while (here.lastElementChild?.inert) here.lastElementChild.remove();
  const known = new Map([...here.children].map((each) => [each.dataset.key, each]));
  for (const [key, each] of fresh) {
    const old = known.get(key);
    if (!old) here.append(document.adoptNode(each));
    else if (old.inert) old.replaceWith(document.adoptNode(each));
    else field(old, each);
  }
}

// Each leads to its field, or to the first of its table; what is only not given yet stands in one line.
export function showLacking(problems, head) {
  const wanted = problems.filter((each) => each.wanted);
  const lines = problems.filter((each) => !each.wanted).map((each) => {
    const line = Object.assign(document.createElement("p"), { className: "problem" });
    line.append(...[jump(each.where, each.label), each.text].filter(Boolean));
    return line;
  });
  if (wanted.length) {
    const line = Object.assign(document.createElement("p"), { className: "problem" });
    line.classList.add("wanted");
    // Where a field is not on the page yet, its name stands for it until it is.
    line.append(`${head} `, ...wanted.map((each) => jump(each.where, each.label) ?? `${each.label} `));
    lines.unshift(line);
  }
  const key = JSON.stringify(problems);
  const shown = by("lacking");
  // The same again leaves the buttons as they are, and whoever stands on one.
  if (shown.said === key) return;
  shown.said = problems.every((each) => asked(each.where).answer) ? key : "";
  shown.replaceChildren(...lines);
}

// What is taken in the stead of answers that are not given: the sentence beside each field.
let assumed = {};
export function taken(key) {
  return assumed[key]?.said ?? "";
}

export function showTaken(now = assumed) {
  assumed = now;
  for (const each of document.querySelectorAll("[data-taken]")) {
    const said = taken(each.dataset.taken);
    if (each.textContent === said) continue;
    // Its line stays, so that what is below stays where it is.
    if (!said) each.style.minHeight = `${each.offsetHeight}px`;
    each.textContent = said;
  }
}

// The keys in the order of the list, in which Tab and Enter go.
export function order() {
  return [...by("answers").querySelectorAll("[data-answer]")].map((each) => each.dataset.answer);
}

// Says back what was typed, or what is wrong with it.
export function showEcho(text, wrong = false) {
  const echo = by("echo");
  if (!echo) return;
  echo.textContent = text;
  echo.classList.toggle("stop", wrong);
}

// Answers that were refused: each stays as it was typed, with what is wrong with it, until it is changed.
export class Refusals {
  constructor(words, take) {
    this.words = words;
    this.take = take;
    this.known = new Map();
  }

  answer(key, kept) {
    return this.known.get(key)?.answer ?? kept;
  }

  has(key, answer) {
    return this.known.get(key)?.answer === answer;
  }

  // What is wrong with an answer, in one text.
  said(key) {
    return (this.known.get(key)?.problems ?? []).map((each) => each.text).join(" ");
  }

  keep(key, answer, problems) {
    this.known.set(key, { answer, problems });
    this.tell(key, problems);
    this.#list();
  }

  drop(key) {
    this.known.delete(key);
    this.tell(key, []);
    this.#list();
  }

  // Marks every control of an answer, and says beside its field what is wrong; none clear it.
  tell(key, problems) {
    const wrong = problems.length > 0;
    for (const each of controlsOf(key)) {
      if (wrong) each.setAttribute("aria-invalid", "true");
      else each.removeAttribute("aria-invalid");
      each.closest(".box")?.classList.toggle("wrong", wrong);
    }
    by(saidId(key))?.replaceChildren(...this.#said(key, problems));
  }

  // The list may be new: what is wrong is said in it again.
  again() {
    for (const [key, each] of this.known) this.tell(key, each.problems);
    this.#list();
  }

  #said(key, problems) {
    if (!problems.length) return [];
    const offered = problems.find((each) => each.offer)?.offer;
    const parts = [problems.map((each) => each.text).join(" ")];
    if (offered) {
      const button = Object.assign(document.createElement("button"), { className: "take", type: "button" });
      button.textContent = this.words.offer.replace("#", offered);
      // The field would lose its focus first, and what stands in it be asked for again.
      button.addEventListener("pointerdown", (event) => event.preventDefault());
      button.addEventListener("click", () => this.take(key, offered));
      parts.push(" ", button);
    }
    return parts;
  }

  #list() {
    by("refused").replaceChildren(
      ...[...this.known].map(([key, each]) => {
        const line = Object.assign(document.createElement("p"), { className: "problem" });
        const leads = jump(key, "", true);
        line.append(...[leads].filter(Boolean), ...this.#said(key, each.problems));
        return line;
      }),
    );
  }
}
