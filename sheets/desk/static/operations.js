// The builder's own operations: one more, and one less.

import { post, trying } from "./desk.js";
import { busy, lines, twice, values } from "./made.js";

const form = document.getElementById("add");

// The page is shown anew, with what was done said at its head.
function anew(said) {
  sessionStorage.setItem("dropleaf-operations", said);
  location.reload();
}

form.addEventListener("submit", async (event) => {
  event.preventDefault();
  await trying(async () => {
    const answer = await busy(form.querySelector("[type=submit]"), () => post(form.dataset.url, values(form)));
    anew(answer.said);
  }, form.querySelector(".problems"));
});
for (const each of document.querySelectorAll(".remove")) {
  twice(each, () => trying(async () => anew((await post("/operations/remove", { key: each.dataset.key })).said)));
}
const said = sessionStorage.getItem("dropleaf-operations");
sessionStorage.removeItem("dropleaf-operations");
if (said) document.getElementById("done").replaceChildren(...lines([said]));
