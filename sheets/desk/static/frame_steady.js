// What comes up, or goes, above what is in the hand must not move it: the page is scrolled by as much.

let pointer = null;
addEventListener("pointermove", (event) => { pointer = [event.clientX, event.clientY]; }, { passive: true });

function inSight(each) {
  const box = each.getBoundingClientRect();
  return box.bottom > 0 && box.top < innerHeight;
}

// What one types into or stands on; else what lies under the pointer.
function inHand() {
  const here = document.activeElement;
  if (here && here !== document.body && here.id !== "main" && inSight(here)) return here;
  return pointer ? document.elementFromPoint(...pointer) : null;
}

export function steady(change) {
  const held = inHand();
  const before = held?.getBoundingClientRect().top;
  change();
  if (!held?.isConnected) return;
  const moved = held.getBoundingClientRect().top - before;
  if (Math.abs(moved) > 0.5) scrollBy({ top: moved, behavior: "instant" });
}
