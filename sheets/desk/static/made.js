import { post, trying } from "./desk.js";

// Parts of pages made from what the desk answers: lines, links to files, and forms as values.

export function line(text, name = "p") {
  const made = document.createElement(name);
  made.textContent = text;
  return made;
}

export function lines(texts) {
  return texts.filter(Boolean).map((each) => line(each));
}

// A link that opens a file of the folder in another tab.
export function opening(file, text, main = false) {
  const made = line(text, "a");
  made.href = file;
  made.target = "_blank";
  made.rel = "noopener";
  if (main) made.classList.add("button", "main");
  return made;
}

export function files(listed) {
  const made = document.createElement("ul");
  for (const each of listed) {
    const item = document.createElement("li");
    item.append(opening(each.path, each.name));
    made.append(item);
  }
  return made;
}

// What stands in a form's fields, ticks as true or false.
export function values(form) {
  const found = {};
  for (const each of form.elements) {
    if (each.name) found[each.name] = each.type === "checkbox" ? each.checked : each.value;
  }
  return found;
}

// A button that is pressed twice before it does what cannot be undone; in between it says so.
export function twice(button, what) {
  const name = button.textContent;
  button.addEventListener("click", async () => {
    if (button.textContent === name) {
      button.textContent = button.dataset.sure;
      return;
    }
    button.textContent = name;
    await what();
  });
  button.addEventListener("blur", () => { button.textContent = name; });
}

// Keeps a button from being pressed again while its work is under way.
export async function busy(button, what) {
  const name = button.textContent;
  button.disabled = true;
  if (button.dataset.working) button.textContent = button.dataset.working;
  try {
    return await what();
  } finally {
    button.disabled = false;
    button.textContent = name;
  }
}

// The form that files something with who and when; `more` gives what is sent besides.
export function filing(form, more) {
  const who = form.elements.who;
  who.value = localStorage.getItem("dropleaf-who") ?? "";
  form.addEventListener("submit", async (event) => {
    event.preventDefault();
    await trying(async () => {
      const value = { ...values(form), ...more() };
      const answer = await busy(form.querySelector("[type=submit]"), () => post(form.dataset.url, value));
      localStorage.setItem("dropleaf-who", who.value);
      const place = document.getElementById("filed");
      place.replaceChildren(
        ...lines(answer.said),
        opening(`/file/${encodeURIComponent(answer.filed)}`, place.dataset.open.replace("#", answer.filed)),
      );
    }, form.querySelector(".problems"));
  });
}
