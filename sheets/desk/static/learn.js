import { post, trying } from "./desk.js";
import { busy } from "./made.js";

const form = document.getElementById("learn");

form.addEventListener("submit", async (event) => {
  event.preventDefault();
  const value = { family: form.dataset.family, end: form.dataset.end, readings: {} };
  for (const each of form.elements) {
    if (!each.name) continue;
    if (each.classList.contains("reading")) value.readings[each.name] = each.value;
    else value[each.name] = each.type === "checkbox" ? each.checked : each.value;
  }
  await trying(async () => {
    const answer = await busy(form.querySelector("[type=submit]"), () => post(form.dataset.url, value));
    const place = document.getElementById("learned");
    place.innerHTML = answer.html;
    place.scrollIntoView({ block: "start" });
  }, form.querySelector(".problems"));
});
