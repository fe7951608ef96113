// Measured mounts of the folder, put together.

import { post, trying } from "./desk.js";
import { busy, values } from "./made.js";

const form = document.getElementById("pool");
form?.addEventListener("submit", async (event) => {
  event.preventDefault();
  const files = [...form.querySelectorAll(".file:checked")].map((each) => each.value);
  await trying(async () => {
    const answer = await busy(form.querySelector("[type=submit]"), () => post(form.dataset.url, { ...values(form), files }));
    const place = document.getElementById("pooled");
    place.innerHTML = answer.html;
    place.scrollIntoView({ block: "start" });
  }, form.querySelector(".problems"));
});
