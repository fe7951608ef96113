// The traveller's fields: each is kept as soon as it is left.

import { post, trying } from "./desk.js";
import { filing } from "./made.js";

const form = document.getElementById("fields");

form.addEventListener("change", (event) => {
  const each = event.target;
  const value = each.type === "checkbox" ? (each.checked ? "yes" : "") : each.value;
  trying(async () => {
    const answer = await post(form.dataset.url, { field: each.name, value });
    document.getElementById("kept").textContent = answer.said;
  }, form.querySelector(".problems"));
});
form.addEventListener("submit", (event) => event.preventDefault());
filing(document.getElementById("file"), () => ({}));
