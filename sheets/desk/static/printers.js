import { post, trying } from "./desk.js";
import { twice } from "./made.js";
import { drawProof, printerForm } from "./printer_form.js";

printerForm(document.querySelector("form.printer"), () => {});

for (const each of document.querySelectorAll(".remove")) {
  twice(each, () => trying(async () => {
    await post("/printers/remove", { name: each.dataset.name });
    location.reload();
  }));
}
for (const each of document.querySelectorAll(".proof")) {
  const paper = document.querySelector("form.printer").elements.paper;
  each.addEventListener("click", () =>
    drawProof(each, each.closest("li").querySelector(".proof-said"), { paper: paper.value, printer: each.dataset.name }),
  );
}
