// Readings one at a time: keys on the screen or the keyboard, and a verdict that grows with each.

import { announce, post, Refused, showProblems, trying } from "./desk.js";
import { filing, twice } from "./made.js";

const bench = document.getElementById("bench");
const { url, point } = bench.dataset;
const buttons = [...document.querySelectorAll("#readings button")];
const field = document.getElementById("value");
const form = document.getElementById("read");
const settles = document.getElementById("settles");
const again = document.getElementById("again");
const onward = document.getElementById("to-next");
// What was typed and refused, by reading: it is typed once, wherever one looks meanwhile.
const refused = new Map();
let next = bench.dataset.next.split(" ").filter(Boolean);
let now = first();

// The first reading that is asked for and not taken; with all taken, the one that would settle most.
function first() {
  const asked = Number(bench.dataset.count);
  const open = buttons.findIndex((each, index) => index < asked && !each.dataset.value);
  return open < 0 ? Math.max(0, buttons.findIndex((each) => each.dataset.key === next[0])) : open;
}

function show(index) {
  now = Math.min(Math.max(index, 0), buttons.length - 1);
  const { key, name, how, often, target, pictures, value } = buttons[now].dataset;
  const asked = Number(bench.dataset.count);
  document.getElementById("which").textContent =
    now < asked ? `${now + 1} / ${asked}` : `+ ${now + 1 - asked}: ${bench.dataset.further}`;
  document.getElementById("reading-name").textContent = `${name}, ${often}`;
  document.getElementById("how").textContent = how;
  document.getElementById("target").textContent = target;
  document.getElementById("jaws").replaceChildren(
    ...[...Array(Number(pictures)).keys()].map((number) => {
      const picture = document.createElement("img");
      picture.src = `${url}/${encodeURIComponent(key)}-${number}.svg`;
      picture.alt = number ? "" : `${name}: ${how}`;
      return picture;
    }),
  );
  const wrong = refused.get(key);
  field.value = wrong?.value ?? value;
  tellWrong(wrong?.problems ?? []);
  again.textContent = "";
  document.getElementById("back").disabled = now === 0;
  for (const each of buttons) each.removeAttribute("aria-current");
  buttons[now].setAttribute("aria-current", "true");
  tellNext();
}

// How many readings a text has, and how many of a reading are still to be taken.
const count = (text) => text.split(";").filter((part) => part.trim()).length;
const lacks = (each) => Math.max(0, Number(each.dataset.times) - count(each.dataset.value));

function counted(words, each) {
  return words.replace("#", count(each.dataset.value)).replace("@", each.dataset.times);
}

function tellTaken(each) {
  const some = each.dataset.value && lacks(each);
  each.querySelector(".taken").textContent = each.dataset.value + (some ? ` (${counted(bench.dataset.of, each)})` : "");
}

function tellWrong(problems) {
  showProblems(problems, form.querySelector(".problems"));
  if (problems.length) field.setAttribute("aria-invalid", "true");
  else field.removeAttribute("aria-invalid");
}

function tellNext() {
  const first = buttons.find((each) => each.dataset.key === next[0]);
  const asked = buttons.slice(0, Number(bench.dataset.count));
  const all = asked.length && asked.every((each) => each.dataset.value && !lacks(each)) ? bench.dataset.all : "";
  settles.textContent = [all, first ? `${bench.dataset.settles} ${first.dataset.name}` : ""].join(" ").trim();
  onward.hidden = !first || first === buttons[now];
}

function take(answer) {
  document.getElementById("verdict").innerHTML = answer.verdict;
  next = answer.next;
  for (const each of buttons) {
    each.dataset.value = answer.readings[each.dataset.key] ?? "";
    tellTaken(each);
  }
  const here = document.querySelector("[aria-current=true] .stands");
  here.textContent = answer.stands.said;
  here.className = `stands ${answer.stands.state}`;
  tellNext();
}

async function keep(value) {
  const { key } = buttons[now].dataset;
  tellWrong([]);
  try {
    const answer = await post(`${url}/read`, { point, key, value });
    refused.delete(key);
    take(answer);
    return true;
  } catch (error) {
    if (!(error instanceof Refused)) throw error;
    refused.set(key, { value, problems: error.problems });
    if (key === buttons[now].dataset.key) tellWrong(error.problems);
    return false;
  }
}

// The reading after this one; after the last of those asked for, the one that would settle most.
function following() {
  const asked = Number(bench.dataset.count);
  if (now + 1 < asked) return now + 1;
  const wanted = buttons.findIndex((each) => each.dataset.key === next[0]);
  return wanted < 0 ? now : wanted;
}

form.addEventListener("submit", async (event) => {
  event.preventDefault();
  const before = count(buttons[now].dataset.value);
  if (!(await keep(field.value))) return;
  // One that is asked for three times is asked for until it is: the same again says that there is no more.
  if (lacks(buttons[now]) && count(buttons[now].dataset.value) > before) {
    field.value = `${buttons[now].dataset.value}; `;
    again.textContent = counted(bench.dataset.again, buttons[now]);
    field.focus({ preventScroll: true });
    field.setSelectionRange(field.value.length, field.value.length);
  } else {
    show(following());
    announce(document.getElementById("reading-name").textContent);
    field.focus({ preventScroll: true });
  }
});
document.getElementById("skip").addEventListener("click", async () => {
  if (await keep("")) show(following());
});
document.getElementById("back").addEventListener("click", () => show(now - 1));
onward.addEventListener("click", () => {
  show(buttons.findIndex((each) => each.dataset.key === next[0]));
  field.focus();
});
for (const [index, each] of buttons.entries()) {
  each.addEventListener("click", () => {
    show(index);
    field.focus();
  });
}

document.getElementById("keypad").addEventListener("click", (event) => {
  const key = event.target.closest("button")?.dataset.key;
  if (!key) return;
  const start = field.selectionStart ?? field.value.length;
  const end = field.selectionEnd ?? start;
  if (key === "back") field.setRangeText("", start === end ? Math.max(0, start - 1) : start, end, "end");
  else field.setRangeText(key, start, end, "end");
});

filing(document.getElementById("file"), () => ({ point }));
twice(document.getElementById("anew"), () => trying(async () => {
  refused.clear();
  take(await post(`${url}/read`, { point, anew: true }));
  show(first());
}));

for (const each of buttons) tellTaken(each);
show(now);
