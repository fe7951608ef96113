// The pictures of a frame: their drawing, the boxes on its arrows, the handles that are dragged, and what is lit up.

import { saidId } from "./frame_list.js";

const SVG = "http://www.w3.org/2000/svg";
const NAMES = ["side", "behind"];

export class Views {
  // `asked(key)` tells what a measure is called; `on` has shown, typed, done, left, entered, escaped, drag, dropped and released.
  constructor(asked, on, words) {
    this.asked = asked;
    this.on = on;
    this.words = words;
    this.boxes = new Map();
    this.handles = new Map();
    this.views = {};
    this.ranges = [];
    this.lit = { about: [], keys: [], at: null };
  }

  stage(name) {
    return document.querySelector(`#${name} .stage`);
  }

  // The pixels that each picture may take.
  screens() {
    const found = {};
    for (const name of NAMES) {
      const width = this.stage(name).clientWidth;
      const most = Math.max(360, Math.min(820, window.innerHeight - 120));
      found[name] = [width, Math.min(most, Math.max(300, name === "side" ? width * 0.95 : width * 1.5))];
    }
    const beside = this.stage("side").offsetTop === this.stage("behind").offsetTop || innerWidth >= 1000;
    if (beside) found.behind[1] = found.side[1];
    return found;
  }

  // Tells when there is another width to draw for.
  resized(tell) {
    let soon = 0;
    let width = 0;
    new ResizeObserver(() => {
      const wide = this.screens().side[0];
      if (Math.abs(wide - width) < 2) return;
      width = wide;
      clearTimeout(soon);
      soon = setTimeout(tell, 60);
    }).observe(this.stage("side"));
  }

  show(state) {
    if (!state.views) return;
    for (const name of NAMES) {
      const view = state.views[name];
      const stage = this.stage(name);
      const drawn = new DOMParser().parseFromString(view.svg, "image/svg+xml").documentElement;
      const old = stage.querySelector("svg");
      if (old) old.replaceWith(document.importNode(drawn, true));
      else stage.prepend(document.importNode(drawn, true));
      stage.style.height = `${view.size[1]}px`;
      this.views[name] = view;
      this.#placeBoxes(name, view, state);
      this.#placeHandles(name, view, state);
    }
    this.light(this.lit);
  }

  #placeBoxes(name, view, state) {
    const seen = new Set();
    for (const box of view.boxes) {
      const id = `${name} ${box.key}`;
      seen.add(id);
      const made = this.boxes.get(id) ?? this.#box(name, id, box.key);
      const measure = state.measures[box.key];
      const input = made.querySelector("input");
      made.classList.toggle("missing", measure.missing);
      made.classList.toggle("taken", Boolean(state.assumed?.[box.key]));
      made.classList.toggle("small", box.size[0] < 60);
      input.placeholder = state.assumed?.[box.key]?.short || (measure.missing ? "?" : "");
      if (document.activeElement !== input) {
        const value = this.on.shown(box.key, measure.value);
        if (input.value !== value) input.value = value;
        made.style.left = `${box.at[0] - box.size[0] / 2}px`;
        made.style.top = `${box.at[1] - box.size[1] / 2}px`;
        made.style.width = `${box.size[0]}px`;
        made.style.height = `${box.size[1]}px`;
      }
    }
    for (const [id, made] of this.boxes) {
      if (!id.startsWith(`${name} `) || seen.has(id) || made.contains(document.activeElement)) continue;
      made.remove();
      this.boxes.delete(id);
    }
    this.#inOrder(name);
  }

  // Tab goes in the order of the list. What is in use is not moved, which would take the focus from it.
  #inOrder(name) {
    const order = this.on.order();
    const place = (each) => order.indexOf(each.dataset.key);
    const stage = this.stage(name);
    const boxes = [...stage.querySelectorAll(":scope > .box")];
    const wanted = [...boxes].sort((a, b) => place(a) - place(b));
    if (wanted.every((each, index) => each === boxes[index])) return;
    const here = wanted.findIndex((each) => each.contains(document.activeElement));
    for (const [index, each] of wanted.entries()) {
      if (index < here) stage.insertBefore(each, wanted[here]);
      else if (index > here) stage.append(each);
    }
  }

  // What Enter goes on to from a control: the next box in the order of the list, on either picture, or the next
  // field of the list that can be seen.
  after(key, control) {
    const drawn = Boolean(control.dataset.measure);
    const order = this.on.order();
    for (const next of order.slice(order.indexOf(key) + 1)) {
      const found = drawn
        ? document.querySelector(`.view [data-measure="${CSS.escape(next)}"]`)
        : document.querySelector(`[data-answer="${CSS.escape(next)}"]`);
      if (found?.checkVisibility()) return found;
    }
    return null;
  }

  #box(name, id, key) {
    const made = document.createElement("label");
    made.className = "box";
    made.dataset.key = key;
    const { letter, ask } = this.asked(key);
    const mark = document.createElement("span");
    mark.className = "mark";
    mark.setAttribute("aria-hidden", "true");
    mark.textContent = letter || "Ø";
    const input = document.createElement("input");
    input.dataset.measure = key;
    input.autocomplete = "off";
    input.spellcheck = false;
    input.setAttribute("aria-label", letter ? `${letter}: ${ask}` : ask);
    input.setAttribute("aria-describedby", `asked ${saidId(key)}`);
    input.addEventListener("focus", () => {
      // It grows while it is typed in, and stays on the picture.
      made.own = made.style.left;
      const most = this.stage(name).clientWidth - made.offsetWidth - 4;
      made.style.left = `${Math.max(4, Math.min(parseFloat(made.own), most))}px`;
      input.select();
      this.on.entered(key, input);
      this.light({ about: [], keys: [key], at: null });
    });
    input.addEventListener("blur", (event) => {
      made.style.left = made.own;
      this.on.left(key, input, event.relatedTarget);
      this.light({ about: [], keys: [], at: null });
    });
    input.addEventListener("input", () => this.on.typed(key, input));
    input.addEventListener("keydown", (event) => {
      if (event.key === "Enter") this.on.next(key, input);
      if (event.key === "Escape") this.on.escaped(key, input);
    });
    made.addEventListener("pointerenter", () => this.#hint(key, true));
    made.addEventListener("pointerleave", () => this.#hint(key, false));
    made.append(mark, input);
    this.boxes.set(id, made);
    this.stage(name).append(made);
    return made;
  }

  #hint(key, on) {
    for (const each of document.querySelectorAll(`.view g.measure[data-key="${CSS.escape(key)}"]`)) {
      each.classList.toggle("lit", on || this.lit.keys.includes(key));
    }
  }

  #placeHandles(name, view, state) {
    const seen = new Set();
    for (const each of view.handles) {
      const id = `${name} ${each.key}`;
      seen.add(id);
      const made = this.handles.get(id) ?? this.#handle(name, id, each.key);
      made.handle = each;
      made.rest = (state.values[each.key] ?? "").split(":").slice(1).join(":").trim();
      made.style.left = `${each.at[0] - 12}px`;
      made.style.top = `${each.at[1] - 12}px`;
      const [wide, high] = view.size;
      made.classList.toggle("out", each.at[0] < 0 || each.at[1] < 0 || each.at[0] > wide || each.at[1] > high);
      made.setAttribute("aria-valuenow", each.value.toFixed(1));
      made.setAttribute(
        "aria-valuetext",
        `${each.value.toFixed(1)} ${each.pivot ? this.words.degrees : this.words.lengths}`,
      );
    }
    for (const [id, made] of this.handles) {
      if (!id.startsWith(`${name} `) || seen.has(id)) continue;
      made.remove();
      this.handles.delete(id);
    }
  }

  #handle(name, id, key) {
    const made = document.createElement("div");
    made.className = "handle";
    made.classList.toggle("turn", key === "mount.tilt");
    made.tabIndex = 0;
    made.setAttribute("role", "slider");
    const tilt = key === "mount.tilt";
    made.setAttribute("aria-label", tilt ? this.words.tilt : `${this.words.handle}: ${this.asked(key).ask}`);
    made.setAttribute("aria-valuemin", tilt ? -45 : 0);
    made.setAttribute("aria-valuemax", tilt ? 45 : 600);
    let grabbed = null;
    const shown = (value) => {
      made.value = value;
      this.on.drag(key, this.#answer(made, value));
    };
    made.addEventListener("pointerdown", (event) => {
      made.setPointerCapture(event.pointerId);
      grabbed = { from: this.#value(name, made.handle, event), start: made.handle.value, handle: made.handle };
      made.focus();
      event.preventDefault();
    });
    made.addEventListener("pointermove", (event) => {
      if (!grabbed) return;
      const moved = this.#value(name, grabbed.handle, event) - grabbed.from;
      shown(this.#stepped(made.handle, grabbed.start + moved));
    });
    const dropped = () => {
      if (grabbed && made.value !== undefined) this.on.dropped(key, this.#answer(made, made.value));
      grabbed = null;
      made.value = undefined;
    };
    made.addEventListener("pointerup", dropped);
    made.addEventListener("pointercancel", dropped);
    made.addEventListener("keydown", (event) => {
      const step = made.handle.pivot ? 0.5 : 1;
      const steps = {
        ArrowUp: step, ArrowRight: step, ArrowDown: -step, ArrowLeft: -step, PageUp: 10 * step, PageDown: -10 * step,
      };
      if (!(event.key in steps)) return;
      event.preventDefault();
      shown(this.#stepped(made.handle, (made.value ?? made.handle.value) + steps[event.key]));
      clearTimeout(made.waiting);
      made.waiting = setTimeout(keep, 700);
    });
    const keep = () => {
      clearTimeout(made.waiting);
      if (made.value !== undefined && !grabbed) this.on.dropped(key, this.#answer(made, made.value));
      made.value = undefined;
    };
    made.addEventListener("focus", () => {
      this.ranged = tilt;
      this.on.entered(key, made);
      this.light({ about: tilt ? ["mount"] : [], keys: [key], at: null });
    });
    made.addEventListener("blur", (event) => {
      keep();
      this.on.released(event.relatedTarget);
      this.ranged = false;
      this.light({ about: [], keys: [], at: null });
    });
    this.handles.set(id, made);
    this.stage(name).append(made);
    return made;
  }

  // Where a pointer stands on a handle's way: degrees about its pivot, or mm along it.
  #value(name, handle, event) {
    const box = this.stage(name).getBoundingClientRect();
    const x = event.clientX - box.left;
    const y = event.clientY - box.top;
    if (handle.pivot) return (Math.atan2(handle.pivot[1] - y, x - handle.pivot[0]) * 180) / Math.PI;
    return ((x - handle.at[0]) * handle.way[0] + (y - handle.at[1]) * handle.way[1]) / this.views[name].scale;
  }

  #stepped(handle, value) {
    if (!handle.pivot) return Math.max(0, Math.round(value * 2) / 2);
    const turned = ((((value + 180) % 360) + 360) % 360) - 180;
    return Math.max(-45, Math.min(45, Math.round(turned * 2) / 2));
  }

  #answer(made, value) {
    const number = this.words.inches && !made.handle.pivot ? `${value} mm` : `${value}`;
    return made.rest ? `${number}: ${made.rest}` : number;
  }

  // Lights up parts by name, arrows and boxes by key, and marks two points in space where things come near.
  light(lit) {
    this.lit = lit;
    for (const each of document.querySelectorAll(".view .part")) {
      each.classList.toggle("lit", lit.about.includes(each.dataset.what));
    }
    for (const each of document.querySelectorAll(".view g.measure, .view .box, .answer")) {
      each.classList.toggle("lit", lit.keys.includes(each.dataset.key));
    }
    for (const name of NAMES) this.#mark(name, lit.at);
  }

  #mark(name, at) {
    const svg = this.stage(name).querySelector("svg");
    const view = this.views[name];
    if (!svg || !view) return;
    svg.querySelector(".marks")?.remove();
    const group = svg.appendChild(document.createElementNS(SVG, "g"));
    group.setAttribute("class", "marks");
    for (const point of at ?? []) {
      const flat = name === "side" ? point : [point[2], point[1]];
      const spot = group.appendChild(document.createElementNS(SVG, "circle"));
      spot.setAttribute("cx", view.origin[0] + view.sign * view.scale * flat[0]);
      spot.setAttribute("cy", view.origin[1] - view.scale * flat[1]);
      spot.setAttribute("r", 7);
      spot.setAttribute("class", "mark-near");
    }
    const tilt = view.handles.find((each) => each.key === "mount.tilt");
    if (name === "side" && tilt && this.ranged) this.#ranges(group, tilt);
  }

  // Draws between which tilts everything holds, about the axle.
  #ranges(group, tilt) {
    const [x, y] = tilt.pivot;
    const radius = Math.hypot(tilt.at[0] - x, tilt.at[1] - y);
    const zero = (Math.atan2(y - tilt.at[1], tilt.at[0] - x) * 180) / Math.PI - tilt.value;
    for (const range of this.ranges) {
      const points = [];
      for (let i = 0; i <= 40; i += 1) {
        const turn = ((zero + range.low + ((range.high - range.low) * i) / 40) * Math.PI) / 180;
        points.push(`${x + radius * Math.cos(turn)} ${y - radius * Math.sin(turn)}`);
      }
      const path = group.appendChild(document.createElementNS(SVG, "path"));
      path.setAttribute("d", `M${points.join("L")}`);
      path.setAttribute("class", "free");
    }
  }
}
