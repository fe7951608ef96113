// The frame as one text: what is typed in it stays whatever comes, and what a line means is told beside it.

import { get, trying } from "./desk.js";
import { by } from "./frame_list.js";

const { url, draft } = by("frame").dataset;
const field = by("text");

export const whole = {
  field,
  // What it was filled with, and from which draft.
  before: field.value,
  draft,
  // Whether something is typed that is not kept. It is kept before all else is.
  dirty: false,

  fill(state) {
    if (state.text === null || this.dirty) return;
    if (field.value !== state.text.replaceAll("\r\n", "\n")) field.value = state.text;
    this.before = field.value;
    this.draft = state.draft;
  },

  // What was sent is kept; what was typed since is not.
  clean(sent) {
    if (sent !== undefined && field.value === sent) this.dirty = false;
  },
};

let meant = null;
async function keyHere() {
  meant ??= await get(`${url}/keys`);
  const above = field.value.slice(0, field.selectionStart).split("\n");
  const line = field.value.split("\n")[above.length - 1];
  const name = /^\s*([A-Za-z_-]+)\s*=/.exec(line)?.[1];
  const table = above.map((each) => /^\s*\[([A-Za-z_.-]+)\]/.exec(each)?.[1]).filter(Boolean).pop();
  const key = table ? `${table}.${name}` : name;
  by("text-key").textContent = name && meant[key] ? `${key}: ${meant[key]}` : "";
}

for (const event of ["keyup", "click", "focus"]) {
  field.addEventListener(event, () => trying(keyHere, by("text-problems")));
}
