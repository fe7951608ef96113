// The form that measures a printer: a proof, what a ruler read on it, and a name.

import { post, trying } from "./desk.js";
import { busy, files, lines, values } from "./made.js";

// `kept` is called with the printer's name once it is kept.
export function printerForm(form, kept) {
  const draw = form.querySelector(".draw-proof");
  draw.addEventListener("click", () => drawProof(draw, form.querySelector(".proof-said"), { paper: form.elements.paper.value }));
  form.addEventListener("submit", async (event) => {
    event.preventDefault();
    const place = form.querySelector(".problems");
    await trying(async () => {
      const answer = await busy(form.querySelector("[type=submit]"), () => post(form.dataset.add, values(form)));
      form.querySelector(".said").replaceChildren(...lines(answer.said));
      kept(answer.name);
    }, place);
  });
}

export function drawProof(button, place, value) {
  return trying(async () => {
    const answer = await busy(button, () => post("/printers/proof", value));
    place.replaceChildren(...lines(answer.said), files(answer.files));
  });
}
