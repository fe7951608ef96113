// The card that stands beside the box, or the handle, that one works on: what is asked, why, and what is meant.

import { asked, by, taken } from "./frame_list.js";

const GAP = 10;
const EDGE = 4;
const card = by("asked");
let about = null;
let known = "";

function line(text, kind = "", id = "") {
  const made = Object.assign(document.createElement("p"), { textContent: text, className: kind });
  if (id) made.id = id;
  return made;
}

// Shows what is asked of a measure beside what it is typed into.
export function showHelp(key, control) {
  const { letter, ask, answer } = asked(key);
  const open = known === key && card.querySelector("details")?.open;
  const parts = [line(letter ? `${letter}: ${ask}` : ask, "question"), line("", "echo", "echo")];
  const why = answer?.querySelector(".why")?.textContent.trim();
  parts.push(line(taken(key), "assumed", "asked-taken"));
  if (why) parts.push(line(why));
  const more = [...(answer?.querySelectorAll(".explain p") ?? [])].map((each) => line(each.textContent, "quiet"));
  if (more.length) {
    const fold = document.createElement("details");
    fold.open = Boolean(open);
    fold.append(Object.assign(document.createElement("summary"), { textContent: card.dataset.more }), ...more);
    fold.addEventListener("toggle", place);
    parts.push(fold);
  }
  card.replaceChildren(...parts);
  card.hidden = false;
  known = key;
  about = control.closest(".box") ?? control;
  follow();
}

// Comes after the box in the order of Tab, also where the boxes were put in another order.
export function follow() {
  if (card.hidden || !about?.isConnected) return;
  if (!card.contains(document.activeElement) && about.nextElementSibling !== card) about.after(card);
  by("asked-taken").textContent = taken(known);
  place();
}

export function hideHelp() {
  card.hidden = true;
  about = null;
}

export function helps(element) {
  return card.contains(element);
}

function covered(one, other) {
  const wide = Math.min(one.right, other.right) - Math.max(one.left, other.left);
  const high = Math.min(one.bottom, other.bottom) - Math.max(one.top, other.top);
  return wide > 0 && high > 0 ? wide * high : 0;
}

// Beside, above or below: where it covers least of the measure's own arrow, of the boxes, and is in sight.
function place() {
  if (card.hidden || !about?.isConnected) return;
  const stage = about.parentElement;
  const ground = stage.getBoundingClientRect();
  card.style.maxWidth = `${Math.min(352, stage.clientWidth - 2 * EDGE)}px`;
  const [wide, high] = [card.offsetWidth, card.offsetHeight];
  const box = about.getBoundingClientRect();
  const spots = [
    [box.right + GAP, box.top], [box.left - GAP - wide, box.top], [box.left, box.bottom + GAP],
    [box.left, box.top - GAP - high], [box.right - wide, box.bottom + GAP], [box.right - wide, box.top - GAP - high],
  ];
  const arrows = [...stage.querySelectorAll(`g.measure[data-key="${CSS.escape(known)}"]`)];
  const shun = [...arrows, ...stage.querySelectorAll(".box.missing")].filter((each) => each !== about);
  const rooms = shun.map((each) => each.getBoundingClientRect());
  let best = null;
  for (const [left, top] of spots) {
    const x = Math.max(ground.left + EDGE, Math.min(left, ground.right - wide - EDGE));
    const room = { left: x, top, right: x + wide, bottom: top + high };
    const out = Math.max(0, -top) + Math.max(0, room.bottom - innerHeight);
    let cost = 1000 * covered(room, box) + 40 * wide * out;
    for (const each of rooms) cost += covered(room, each);
    if (!best || cost < best.cost) best = { cost, x, top };
  }
  card.style.left = `${best.x - ground.left - stage.clientLeft}px`;
  card.style.top = `${best.top - ground.top - stage.clientTop}px`;
}

card.addEventListener("focusout", (event) => {
  if (!card.contains(event.relatedTarget)) hideHelp();
});
card.addEventListener("keydown", (event) => {
  if (event.key === "Escape") about?.querySelector("input")?.focus();
});
