// What is found of a frame: asked for a moment after it changed, each finding with what it lights up and what cures it.

import { Refused, post } from "./desk.js";
import { by, jump } from "./frame_list.js";
import { steady } from "./frame_steady.js";

const SOON = 300;
const AGAIN = 900;
// Two pages may show one frame: the desk tells their questions apart by this.
const PAGE = crypto.randomUUID();

export class Found {
  // `page` has `views`, `trial()`, `dragged()` and `take(key, answer)`.
  constructor(url, words, page) {
    this.url = url;
    this.words = words;
    this.page = page;
    this.soon = 0;
    this.asking = null;
    this.meeting = false;
    this.next = null;
  }

  #ask(value, signal) {
    return post(`${this.url}/judge`, { ...value, page: PAGE }, signal);
  }

  // Asks soon for all that is found. What a drag meets comes first.
  judge(wait = SOON) {
    clearTimeout(this.soon);
    if (!this.meeting) this.soon = setTimeout(() => this.#judged(), wait);
  }

  async #judged() {
    this.asking?.abort();
    const mine = (this.asking = new AbortController());
    by("findings").setAttribute("aria-busy", "true");
    const what = { ...(this.page.trial() ?? {}) };
    try {
      const answer = await this.#ask({ ...what, what: "found" }, mine.signal);
      if (this.asking !== mine) return;
      if (answer.superseded) {
        this.judge(AGAIN);
        return;
      }
      steady(() => this.#show(answer, what));
    } catch (error) {
      if (error.name === "AbortError" || this.asking !== mine) return;
      if (!(error instanceof Refused)) throw error;
      by("answer").textContent = error.problems.some((each) => each.where) ? this.words.refused : error.message;
      by("answer").className = "unknown";
      by("findings").replaceChildren();
      by("tilts").replaceChildren();
    }
    by("findings").removeAttribute("aria-busy");
  }

  #show(found, what) {
    by("answer").textContent = found.answer;
    by("answer").className = found.level;
    const words = by("words");
    words.hidden = !found.words.length;
    words.querySelector("dl").replaceChildren(...found.words.flatMap((each) => [
      Object.assign(document.createElement("dt"), { textContent: each.word }),
      Object.assign(document.createElement("dd"), { textContent: each.means }),
    ]));
    this.page.views.ranges = found.tilt?.ranges ?? [];
    by("tilts").replaceChildren(
      ...[...(found.tilt?.sentences ?? []), ...found.joined].map((text) =>
        Object.assign(document.createElement("p"), { textContent: text })),
    );
    // Whoever stands on a finding is not thrown off it where the same is found again.
    const here = by("findings").contains(document.activeElement) ? document.activeElement : null;
    const named = here?.closest("li")?.dataset.name;
    const place = here?.tagName === "BUTTON" ? [...here.closest("li").querySelectorAll("button")].indexOf(here) : -1;
    const items = found.findings.map((each) => this.#finding(each, what));
    by("findings").replaceChildren(...items);
    const again = named && items.find((each) => each.dataset.name === named);
    if (again) (again.querySelectorAll("button")[place] ?? again).focus({ preventScroll: true });
    this.#cure(items.filter((each) => each.each.level === "stop"), what);
  }

  #finding(each, what) {
    const item = document.createElement("li");
    item.className = `finding level-${each.level}`;
    item.each = each;
    item.dataset.name = `${each.code} ${each.subject}`;
    item.tabIndex = 0;
    const word = Object.assign(document.createElement("b"), { textContent: each.word });
    const text = document.createElement("p");
    text.append(word, ` ${each.text}`);
    item.append(text);
    if (each.remedy) item.append(Object.assign(document.createElement("p"), { textContent: each.remedy, className: "quiet" }));
    this.#leads(item, this.words.spoiled, each.spoiled);
    this.#leads(item, this.words.answers, each.fields);
    if (each.curable) {
      const place = Object.assign(document.createElement("div"), { className: "cures" });
      item.cures = place;
      if (each.level !== "stop") {
        const ask = Object.assign(document.createElement("button"), { textContent: this.words.cure });
        ask.addEventListener("click", () => this.#cure([item], what));
        place.append(ask);
      }
      item.append(place);
    }
    const keys = [...each.keys, ...each.spoiled, ...each.fields];
    const on = () => this.page.views.light({ about: each.about, keys, at: each.at });
    const off = () => this.page.views.light({ about: [], keys: [], at: null });
    item.addEventListener("pointerenter", on);
    item.addEventListener("pointerleave", off);
    item.addEventListener("focusin", on);
    item.addEventListener("focusout", off);
    return item;
  }

  #leads(item, head, keys) {
    const buttons = keys.map((key) => jump(key, "", true)).filter(Boolean);
    if (!buttons.length) return;
    const line = document.createElement("p");
    line.append(`${head} `, ...buttons);
    item.append(line);
  }

  async #cure(items, what) {
    for (const item of items) {
      if (!item.isConnected || !item.cures) return;
      item.cures.textContent = this.words.searching;
      let answer;
      try {
        const { code, subject } = item.each;
        answer = await this.#ask({ ...what, what: "cures", code, subject });
      } catch (error) {
        if (!(error instanceof Refused)) throw error;
        item.cures.textContent = error.message;
        continue;
      }
      if (answer.superseded || !item.isConnected) return;
      const lines = answer.cures.map((cure) => {
        const made = Object.assign(document.createElement("button"), { textContent: cure.text, className: "cure" });
        made.addEventListener("click", () => this.page.take(cure.key, cure.answer));
        return made;
      });
      item.cures.replaceChildren(...(lines.length ? lines : [answer.none]));
    }
  }

  // Tells what a drag meets first: the newest place waits, those between are passed over.
  async meets(value) {
    this.next = value;
    if (this.meeting) return;
    this.meeting = true;
    clearTimeout(this.soon);
    try {
      while (this.next) {
        const now = this.next;
        this.next = null;
        const answer = await this.#ask({ ...now, what: "meets" });
        if (this.page.dragged() !== now.key) continue;
        if (answer.superseded) {
          await new Promise((resolve) => setTimeout(resolve, 200));
          this.next ??= now;
          continue;
        }
        by("drag").textContent = answer.text;
        by("drag").className = { fail: "stop", warn: "look", unknown: "look" }[answer.state] ?? "go";
        const about = answer.state === "ok" ? [] : answer.about;
        this.page.views.light({ about, keys: [now.key], at: answer.at });
      }
    } catch (error) {
      if (!(error instanceof Refused)) throw error;
    } finally {
      this.meeting = false;
      this.judge();
    }
  }
}
