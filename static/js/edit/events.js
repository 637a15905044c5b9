// Drag an event from the list into its week, or from its week to the bar below. A drop presses the
// button that does the same. A mouse drags at once; a finger holds still for half a second first.

const HOLD_MS = 450;
const SLOP_PX = 6;
const EDGE_PX = 70;
const say = globalThis.gettext ?? ((text) => text);
const bar = document.getElementById("take-out-here");
let drag = null;

function announce(text) {
  document.getElementById("announcer").textContent = text;
}

function weeksOf(line) {
  return line.dataset.weeks
    .split(" ")
    .map((iso) => document.getElementById(`week-${iso}`))
    .filter(Boolean);
}

function show(targets, words) {
  for (const week of targets) {
    for (const place of [week, week.querySelector(".week-sheet")]) place.dataset.drop = words;
  }
}

function begin() {
  const { from, name } = drag;
  drag.active = true;
  drag.isIn = from.matches("[data-candidate]");
  drag.ghost = document.createElement("p");
  drag.ghost.className = "drag-ghost";
  drag.ghost.textContent = name;
  document.body.append(drag.ghost);
  if (drag.isIn) {
    drag.targets = weeksOf(from);
    show(drag.targets, say("Put in here"));
    announce(say("%(event)s: drop it in %(week)s.").replace("%(event)s", name).replace("%(week)s", from.dataset.weekWords));
  } else {
    bar.textContent = say("Drop here to take out %s").replace("%s", name);
    bar.hidden = false;
    announce(say("%s: drop it on the bar below to take it out.").replace("%s", name));
  }
  from.classList.add("is-dragged");
  drag.scrolling = setInterval(scroll, 30);
  follow();
}

function scroll() {
  if (drag.y < EDGE_PX) window.scrollBy(0, -18);
  else if (drag.y > innerHeight - EDGE_PX && drag.isIn) window.scrollBy(0, 18);
  else return;
  follow();
}

function follow() {
  drag.ghost.style.setProperty("translate", `${drag.x + 8}px ${drag.y + 8}px`);
  const under = document.elementFromPoint(drag.x, drag.y);
  const week = under?.closest("[data-week]");
  drag.over = drag.isIn ? drag.targets.includes(week) && week : under?.closest("#take-out-here, #candidates");
  for (const place of document.querySelectorAll(".is-over")) place.classList.remove("is-over");
  if (!drag.over) return;
  drag.over.classList.add("is-over");
  drag.over.querySelector(".week-sheet")?.classList.add("is-over");
}

function end(isDrop) {
  if (!drag) return;
  const { active, from, over, name } = drag;
  clearTimeout(drag.timer);
  clearInterval(drag.scrolling);
  drag.ghost?.remove();
  drag = null;
  if (!active) return;
  bar.hidden = true;
  from.classList.remove("is-dragged");
  for (const place of document.querySelectorAll("[data-drop], .is-over")) {
    delete place.dataset.drop;
    place.classList.remove("is-over");
  }
  const button = from.querySelector("button[form=edit]");
  // The click that follows a drag would open the event.
  const swallow = (event) => {
    if (event.isTrusted) event.preventDefault();
    if (event.isTrusted) event.stopPropagation();
  };
  document.addEventListener("click", swallow, { capture: true, once: true });
  setTimeout(() => document.removeEventListener("click", swallow, { capture: true }), 60);
  if (isDrop && over) button.click();
  else announce(say("%s stays where it was.").replace("%s", name));
}

document.addEventListener("pointerdown", (event) => {
  const from = event.target.closest("[data-candidate], .card:has(.card-out)");
  if (!from || event.button !== 0 || !event.isPrimary || event.target.closest("button")) return;
  drag = { from, name: from.dataset.name, x: event.clientX, y: event.clientY, active: false };
  drag.startX = drag.x;
  drag.startY = drag.y;
  drag.isTouch = event.pointerType !== "mouse";
  if (drag.isTouch) drag.timer = setTimeout(begin, HOLD_MS);
});

document.addEventListener("pointermove", (event) => {
  if (!drag) return;
  drag.x = event.clientX;
  drag.y = event.clientY;
  if (drag.active) return follow();
  if (Math.hypot(drag.x - drag.startX, drag.y - drag.startY) < SLOP_PX) return undefined;
  return drag.isTouch ? end(false) : begin();
});

document.addEventListener("pointerup", () => end(true));
document.addEventListener("pointercancel", () => end(false));
document.addEventListener("touchmove", (event) => drag?.active && event.preventDefault(), { passive: false });
document.addEventListener("keydown", (event) => event.key === "Escape" && end(false));
for (const kind of ["dragstart", "contextmenu"]) {
  document.addEventListener(kind, (event) => drag && (kind === "dragstart" || drag.isTouch) && event.preventDefault());
}
