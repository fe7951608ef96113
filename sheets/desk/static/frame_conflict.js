// Two versions of a frame, and what is chosen of them.

import { announce } from "./desk.js";
import { by } from "./frame_list.js";

// Shows both; `mine` is the text that is typed here, if any, and `changes` what differs, by what it is called.
export function showVersions(state, mine, changes, out, aside) {
  const panel = by("conflict");
  const first = panel.hidden;
  panel.hidden = false;
  panel.seen = state.digest;
  panel.draft = state.draft;
  panel.of = state.conflict.of;
  const told = state.conflict.told;
  by("conflict-title").textContent = told.title;
  by("conflict-what").textContent = told.what;
  by("mine").textContent = told.mine;
  by("theirs").textContent = told.theirs;
  by("label-theirs").textContent = told.on_disk;
  by("label-mine").textContent = told.here;
  by("text-theirs").textContent = state.conflict.theirs;
  by("text-mine").textContent = mine ?? state.conflict.mine;
  by("conflict-changes").textContent = Object.entries(changes)
    .map(([key, value]) => `${key}: ${value || out}`)
    .join("; ");
  // Whoever types is told, and not taken away from what is typed.
  if (first && !aside) by("conflict-title").focus();
  else if (first) announce(told.title);
}
