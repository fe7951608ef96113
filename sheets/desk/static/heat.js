// Readings one at a time: keys on the screen or the keyboard, and a verdict that grows with each.

import { announce, post, trying } from "./desk.js";
import { filing, twice } from "./made.js";

const bench = document.getElementById("bench");
const { url, point } = bench.dataset;
const buttons = [...document.querySelectorAll("#readings button")];
const field = document.getElementById("value");
const form = document.getElementById("read");
const settles = document.getElementById("settles");
const onward = document.getElementById("to-next");
let next = bench.dataset.next.split(" ").filter(Boolean);
let now = Math.max(0, buttons.findIndex((each) => each.dataset.key === next[0]));

function show(index) {
  now = Math.min(Math.max(index, 0), buttons.length - 1);
  const { key, name, how, often, target, pictures, value } = buttons[now].dataset;
  document.getElementById("which").textContent = `${now + 1} / ${buttons.length}`;
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
  field.value = value;
  form.querySelector(".problems").replaceChildren();
  document.getElementById("back").disabled = now === 0;
  for (const each of buttons) each.removeAttribute("aria-current");
  buttons[now].setAttribute("aria-current", "true");
  tellNext();
}

function tellNext() {
  const first = buttons.find((each) => each.dataset.key === next[0]);
  settles.textContent = first ? `${bench.dataset.settles} ${first.dataset.name}` : "";
  onward.hidden = !first || first === buttons[now];
}

function take(answer) {
  document.getElementById("verdict").innerHTML = answer.verdict;
  next = answer.next;
  for (const each of buttons) {
    each.dataset.value = answer.readings[each.dataset.key] ?? "";
    each.querySelector(".taken").textContent = each.dataset.value;
  }
  tellNext();
}

async function keep(value) {
  return trying(async () => {
    take(await post(`${url}/read`, { point, key: buttons[now].dataset.key, value }));
  }, form.querySelector(".problems"));
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
  if (await keep(field.value)) {
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
  take(await post(`${url}/read`, { point, anew: true }));
  show(Math.max(0, buttons.findIndex((each) => each.dataset.key === next[0])));
}));

show(now);
