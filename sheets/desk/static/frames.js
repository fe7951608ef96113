// The page of frames: search, what is ticked, a new frame, and packets drawn in one go. The list is asked for
// again while something is worked out, and now and then after it: a terminal may work on the same folder.

import { announce, get, post, trying } from "/static/desk.js";

const BUSY = 700;
const IDLE = 5000;
const byId = (id) => document.getElementById(id);
const rows = () => [...document.querySelectorAll(".frame")];
const ticks = () => rows().map((row) => row.querySelector("input[name=frame]"));

// --- search

// Which of the counts is pressed, "" for none.
let chosen = "";

// What stands in quotes is sought as it stands, every other word by itself.
function words(text) {
  return [...text.toLocaleLowerCase().matchAll(/"([^"]+)"?|[^\s"]+/g)].map((each) => each[1] ?? each[0]);
}

function search(tell = true) {
  const wanted = words(byId("search").value);
  let hits = 0;
  for (const row of rows()) {
    const text = `${row.textContent} ${row.dataset.more}`.toLocaleLowerCase();
    row.hidden = !wanted.every((word) => text.includes(word)) || !(chosen === "" || row.dataset.is.split(" ").includes(chosen));
    hits += row.hidden ? 0 : 1;
  }
  for (const each of document.querySelectorAll(".counts button")) {
    each.setAttribute("aria-pressed", each.dataset.is === chosen);
  }
  const { one, more } = byId("search").dataset;
  if (tell) announce(hits === 1 ? one : more.replace("#", hits));
}

byId("search").addEventListener("input", () => search());
byId("search").addEventListener("keydown", (event) => {
  // Return would send the form.
  if (event.key === "Enter") event.preventDefault();
});

document.addEventListener("click", (event) => {
  const pressed = event.target.closest(".counts button");
  if (!pressed) return;
  chosen = chosen === pressed.dataset.is ? "" : pressed.dataset.is;
  search();
});

// --- ticks

byId("all").addEventListener("change", () => {
  for (const row of rows()) row.querySelector("input[name=frame]").checked = byId("all").checked && !row.hidden;
});

const ticked = () => ticks().filter((each) => each.checked).map((each) => each.value);

// --- a new frame

byId("new").addEventListener("submit", (event) => {
  event.preventDefault();
  const [way, of] = byId("new-from").value.split(/:(.*)/s);
  trying(async () => {
    try {
      const made = await post("/new", { name: byId("new-name").value, way, of });
      location.assign(`/frame/${encodeURIComponent(made.frame)}`);
    } catch (error) {
      const offered = error.problems?.find((each) => each.offer)?.offer;
      setTimeout(() => offerName(offered));
      throw error;
    }
  }, byId("new-problems"));
});

// A name that is refused stays as it was typed; one press takes the one that is meant.
function offerName(name) {
  byId("new-name").setAttribute("aria-invalid", "true");
  if (!name) return;
  const take = Object.assign(document.createElement("button"), { type: "button" });
  take.textContent = byId("new").dataset.offer.replace("#", name);
  take.addEventListener("click", () => {
    byId("new-name").value = name;
    byId("new").requestSubmit();
  });
  byId("new-problems").append(take);
}

byId("new-name").addEventListener("input", () => byId("new-name").removeAttribute("aria-invalid"));

// --- packets in one go

let drawing = false;

function shown(state) {
  byId("batch").hidden = state.total === 0;
  byId("give-up").hidden = !state.running;
  byId("batch-bar").max = Math.max(state.total, 1);
  byId("batch-bar").value = state.done;
  if (byId("batch-said").textContent !== state.said) byId("batch-said").textContent = state.said;
  byId("batch-frames").replaceChildren(
    ...state.frames.map((frame) => {
      const item = document.createElement("li");
      const name = document.createElement("strong");
      name.textContent = frame.frame;
      const told = document.createElement("span");
      told.className = { failed: "stop", stamped: "look", drawn: "go" }[frame.state] ?? "quiet";
      told.textContent = frame.told;
      item.append(name, " ", told);
      if (frame.packet) {
        const link = document.createElement("a");
        link.href = `/file/${encodeURIComponent(frame.packet)}`;
        link.target = "_blank";
        link.rel = "noopener";
        link.textContent = byId("batch-frames").dataset.open.replace("#", frame.packet);
        item.append(" ", link);
      }
      for (const said of frame.said) {
        const line = document.createElement("p");
        line.textContent = said;
        item.append(line);
      }
      return item;
    }),
  );
  byId("draw").disabled = state.running;
}

async function follow() {
  drawing = true;
  let state = await get("/batch");
  shown(state);
  while (state.running) {
    await new Promise((done) => setTimeout(done, 400));
    state = await get("/batch");
    shown(state);
  }
  drawing = false;
  await renew();
}

byId("draw").addEventListener("click", () =>
  trying(async () => {
    shown(await post("/batch", { frames: ticked(), replace: byId("replace").checked }));
    byId("batch").scrollIntoView({ block: "nearest" });
    await follow();
  }),
);
byId("give-up").addEventListener("click", () => trying(async () => shown(await post("/batch/cancel"))));

// --- what is known of the folder

async function renew() {
  const answer = await fetch("/frames/list");
  if (!answer.ok) return;
  const page = new DOMParser().parseFromString(await answer.text(), "text/html");
  const fresh = page.getElementById("list");
  const kept = new Map(rows().map((row) => [row.dataset.name, row]));
  // A row that says the same stays as it is, with its focus and what is open in it; a tick stays anyway.
  for (const row of fresh.querySelectorAll(".frame")) {
    const old = kept.get(row.dataset.name);
    if (old === undefined) continue;
    if (old.dataset.version === row.dataset.version) {
      row.replaceWith(old);
    } else {
      row.querySelector("input[name=frame]").checked = old.querySelector("input[name=frame]").checked;
      if (old.querySelector("details[open]")) row.querySelector("details")?.setAttribute("open", "");
    }
  }
  const focused = document.activeElement;
  const count = focused?.closest(".counts button")?.dataset.is;
  byId("list").replaceWith(document.adoptNode(fresh));
  if (focused?.isConnected) focused.focus({ preventScroll: true });
  const buttons = [...document.querySelectorAll(".counts button")];
  if (count) buttons.find((each) => each.dataset.is === count)?.focus({ preventScroll: true });
  // What nothing is counted by any more lists all again.
  if (!buttons.some((each) => each.dataset.is === chosen)) chosen = "";
  search(false);
}

async function watch() {
  for (;;) {
    const wait = byId("list").dataset.busy === "true" ? BUSY : IDLE;
    await new Promise((done) => setTimeout(done, wait));
    if (document.hidden || drawing) continue;
    try {
      await renew();
    } catch {
      // The desk has gone or sleeps; the next thing that is asked of it says so.
    }
  }
}

search(false);
watch();
trying(async () => {
  const state = await get("/batch");
  shown(state);
  if (state.running) await follow();
});
