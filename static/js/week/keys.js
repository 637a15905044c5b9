// The week by keyboard, on a session: arrows walk to the sessions beside it, with Shift they move
// it, Delete removes it, Ctrl+Z undoes. Each sends what a button of the panel sends.

const say = globalThis.gettext ?? ((text) => text);

function announce(text) {
  document.getElementById("announcer").textContent = text;
}

function tell(words) {
  document.dispatchEvent(new CustomEvent("week:do", { detail: { words } }));
}

const days = () => [...document.querySelectorAll("#week-days [data-day]")];
const links = (place) => [...place.querySelectorAll(".session h3 a")];

function walk(link, key) {
  if (key === "ArrowUp" || key === "ArrowDown") {
    const all = links(document.getElementById("week-days"));
    return all[all.indexOf(link) + (key === "ArrowUp" ? -1 : 1)];
  }
  const step = key === "ArrowLeft" ? -1 : 1;
  const here = link.closest("[data-day]");
  const at = links(here).indexOf(link);
  const all = days();
  for (let n = all.indexOf(here) + step; all[n]; n += step) {
    const there = links(all[n]);
    if (there.length) return there[Math.min(at, there.length - 1)];
  }
  return undefined;
}

const AT_THE_EDGE = {
  ArrowLeft: say("%s is on the first day of the week."),
  ArrowRight: say("%s is on the last day of the week."),
  ArrowUp: say("%s is on the first place of its day."),
  ArrowDown: say("%s is on the last place of its day."),
};
const STEPS = { ArrowLeft: "earlier", ArrowRight: "later", ArrowUp: "up", ArrowDown: "down" };

function move(session, key) {
  const { session: id, name } = session.dataset;
  const here = session.closest("[data-day]");
  const isDay = key === "ArrowLeft" || key === "ArrowRight";
  const all = isDay ? days() : links(here).map((link) => link.closest(".session"));
  const isBack = key === "ArrowLeft" || key === "ArrowUp";
  if (all[all.indexOf(isDay ? here : session) + (isBack ? -1 : 1)]) tell(`${STEPS[key]} ${id}`);
  else announce(AT_THE_EDGE[key].replace("%s", () => name));
}

document.addEventListener("keydown", (event) => {
  if (event.target.closest("input, textarea, select, [contenteditable]")) return;
  if ((event.ctrlKey || event.metaKey) && event.key.toLowerCase() === "z") {
    event.preventDefault();
    document.getElementById("undo")?.click();
    return;
  }
  if (event.ctrlKey || event.metaKey || event.altKey) return;
  const link = event.target.closest(".session h3 a");
  if (!link) return;
  const session = link.closest("[data-session]");
  if (event.key.startsWith("Arrow")) {
    event.preventDefault();
    if (!event.shiftKey) walk(link, event.key)?.focus();
    else if (session) move(session, event.key);
    else announce(say("This session is not yours to move."));
  } else if (event.key === "Delete" && session) {
    event.preventDefault();
    tell(`remove ${session.dataset.session}`);
  }
});
