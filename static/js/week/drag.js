// Drag a session to another day, or to another place on its day. A mouse takes it anywhere, a
// finger by its grip. The drop sends what the panel's buttons send.

const say = globalThis.gettext ?? ((text) => text);
const SLOP_PX = 6;
const EDGE_PX = 60;
let drag = null;

function announce(text) {
  document.getElementById("announcer").textContent = text;
}

function clear() {
  for (const place of document.querySelectorAll("[data-drop], .drop-before")) {
    delete place.dataset.drop;
    place.classList.remove("drop-before");
  }
}

const planned = (day) =>
  [...day.querySelectorAll(".session:has(h3 a)")].filter((session) => session !== drag.session);

function begin() {
  drag.active = true;
  drag.ghost = document.createElement("p");
  drag.ghost.className = "drag-ghost";
  drag.ghost.textContent = drag.name;
  document.body.append(drag.ghost);
  drag.session.classList.add("is-dragged");
  announce(say("%s: drop it on a day.").replace("%s", () => drag.name));
  drag.scrolling = setInterval(scroll, 30);
  follow();
}

function scroll() {
  if (drag.y < EDGE_PX) window.scrollBy(0, -14);
  else if (drag.y > innerHeight - EDGE_PX) window.scrollBy(0, 14);
  else return;
  follow();
}

function follow() {
  drag.ghost.style.setProperty("translate", `${drag.x + 8}px ${drag.y + 8}px`);
  clear();
  drag.day = document.elementFromPoint(drag.x, drag.y)?.closest("#week-days [data-day]") ?? null;
  if (!drag.day) return;
  const others = planned(drag.day);
  drag.place = others.filter((other) => {
    const box = other.getBoundingClientRect();
    return box.top + box.height / 2 < drag.y;
  }).length;
  drag.day.dataset.drop = drag.day.dataset.name;
  others[drag.place]?.classList.add("drop-before");
}

function end(isDrop) {
  if (!drag) return;
  const { active, session, day, place, name, from, at } = drag;
  clearInterval(drag.scrolling);
  drag.ghost?.remove();
  drag = null;
  if (!active) return;
  clear();
  session.classList.remove("is-dragged");
  // The click that follows a drag would open the session.
  const swallow = (event) => {
    event.preventDefault();
    event.stopPropagation();
  };
  document.addEventListener("click", swallow, { capture: true, once: true });
  setTimeout(() => document.removeEventListener("click", swallow, { capture: true }), 60);
  if (!isDrop || !day || (day === from && place === at)) {
    announce(say("%s stays where it was.").replace("%s", () => name));
    return;
  }
  const words = `move ${session.dataset.session} ${day.dataset.day} ${place}`;
  document.dispatchEvent(new CustomEvent("week:do", { detail: { words } }));
}

document.addEventListener("pointerdown", (event) => {
  const session = event.target.closest("[data-session]");
  if (!session || event.button !== 0 || !event.isPrimary) return;
  const isTouch = event.pointerType !== "mouse";
  if (isTouch && !event.target.closest("[data-grip]")) return;
  const from = session.closest("[data-day]");
  drag = { session, from, name: session.dataset.name, x: event.clientX, y: event.clientY };
  drag.startX = drag.x;
  drag.startY = drag.y;
  drag.at = [...from.querySelectorAll(".session:has(h3 a)")].indexOf(session);
  if (isTouch) begin();
});

document.addEventListener("pointermove", (event) => {
  if (!drag) return;
  drag.x = event.clientX;
  drag.y = event.clientY;
  if (drag.active) follow();
  else if (Math.hypot(drag.x - drag.startX, drag.y - drag.startY) >= SLOP_PX) begin();
});

document.addEventListener("pointerup", () => end(true));
document.addEventListener("pointercancel", () => end(false));
document.addEventListener("touchmove", (event) => drag?.active && event.preventDefault(), { passive: false });
document.addEventListener("keydown", (event) => event.key === "Escape" && end(false));
document.addEventListener("dragstart", (event) => drag && event.preventDefault());
