// The packet's pages one by one, at true size if the screen was measured; the packet; and its bars.

import { announce, post, trying } from "./desk.js";
import { busy, files, line, lines, opening, values } from "./made.js";
import { printerForm } from "./printer_form.js";

const CARD = 85.6; // mm, ISO/IEC 7810, ID-1
const page = document.getElementById("page");
const image = document.getElementById("shown");
const view = document.getElementById("view");
const sizes = document.getElementById("size");

// Dots of the screen to a mm, so that a page's zoom does not matter. A cookie keeps it too: each start of the
// desk may have another port, and what a browser keeps for one it does not show to another.
function dots() {
  const kept = localStorage.getItem("dropleaf-dots") ?? /(?:^|; )dropleaf-dots=([\d.]+)/.exec(document.cookie)?.[1];
  const value = Number(kept);
  return value > 0.5 && value < 100 ? value : 0;
}

function show() {
  const option = page.selectedOptions[0];
  const size = dots();
  const exact = size > 0 && sizes.querySelector("[value=true]").checked;
  if (image.getAttribute("src") !== option.value) image.src = option.value;
  image.alt = `${option.textContent.trim()}. ${option.dataset.use}`;
  document.getElementById("use").textContent = option.dataset.use;
  document.getElementById("before").disabled = page.selectedIndex === 0;
  document.getElementById("after").disabled = page.selectedIndex === page.length - 1;
  document.getElementById("not-measured").hidden = size > 0;
  sizes.querySelector("[value=true]").disabled = size === 0;
  view.classList.toggle("true", exact);
  const per = size / devicePixelRatio;
  image.style.width = exact ? `${option.dataset.width * per}px` : "";
  image.style.height = exact ? `${option.dataset.height * per}px` : "";
}

function turn(step) {
  page.selectedIndex = Math.min(Math.max(page.selectedIndex + step, 0), page.length - 1);
  show();
  announce(`${page.selectedOptions[0].textContent.trim()}. ${page.selectedOptions[0].dataset.use}`);
}

page.addEventListener("change", show);
sizes.addEventListener("change", show);
addEventListener("resize", show);
document.getElementById("before").addEventListener("click", () => turn(-1));
document.getElementById("after").addEventListener("click", () => turn(1));

const card = document.getElementById("card");
const wide = document.getElementById("card-width");
const draw = () => { card.style.width = `${wide.value}px`; };
if (dots()) wide.value = (CARD * dots()) / devicePixelRatio;
wide.addEventListener("input", draw);
document.getElementById("card-done").addEventListener("click", () => {
  const value = (Number(wide.value) * devicePixelRatio) / CARD;
  localStorage.setItem("dropleaf-dots", value);
  document.cookie = `dropleaf-dots=${value.toFixed(4)}; path=/; max-age=31536000; SameSite=Strict`;
  sizes.querySelector("[value=true]").disabled = false;
  sizes.querySelector("[value=true]").checked = true;
  document.getElementById("screen").open = false;
  show();
  view.focus();
});
draw();
show();

const make = document.getElementById("make");
const made = document.getElementById("made");
make.addEventListener("submit", async (event) => {
  event.preventDefault();
  const value = { ...values(make), printer: make.dataset.printer, plate: make.dataset.plate };
  await trying(async () => {
    const answer = await busy(make.querySelector("[type=submit]"), () => post(make.dataset.url, value));
    const list = document.createElement("ul");
    for (const each of answer.findings) {
      const item = document.createElement("li");
      const level = line(`${each.name} `, "strong");
      level.className = { stop: "stop", warn: "look" }[each.level] ?? "quiet";
      item.append(level, `${each.text} ${each.remedy}`);
      list.append(item);
    }
    const open = document.createElement("p");
    open.append(opening(answer.packet, answer.open, true));
    made.replaceChildren(line(answer.said), open, line(made.dataset.files, "h3"), files(answer.files));
    if (answer.findings.length) made.append(line(made.dataset.findings, "h3"), list);
  }, make.querySelector(".problems"));
});

const bars = document.getElementById("bars");
const correct = document.getElementById("correct");
bars.addEventListener("submit", async (event) => {
  event.preventDefault();
  const said = document.getElementById("bars-said");
  said.replaceChildren();
  correct.hidden = true;
  await trying(async () => {
    const answer = await post(bars.dataset.url, values(bars));
    said.className = `verdict ${answer.state}`;
    const told = lines(answer.said);
    const loud = line(told.pop().textContent, "strong");
    said.append(...told, loud, ...lines(answer.noted));
    correct.hidden = answer.state !== "correct";
    said.scrollIntoView({ block: "nearest" });
  }, bars.querySelector(".problems"));
});

printerForm(correct.querySelector("form"), (name) => {
  const choice = document.getElementById("choice");
  const select = choice.elements.printer;
  if (![...select.options].some((each) => each.value === name)) select.add(new Option(name, name));
  select.value = name;
  choice.requestSubmit();
});
