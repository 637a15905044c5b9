// Drag the grip of a block to the week in which it shall begin.

const say = globalThis.gettext ?? ((text) => text);
let drag = null;

function announce(text) {
  document.getElementById("announcer").textContent = text;
}

const weeks = () => [...document.querySelectorAll("#planner [data-week]")];

// On a wide screen a week is a column of its row, and its own element has no box.
function boxOf(week) {
  if (getComputedStyle(week).display !== "contents") return week.getBoundingClientRect();
  const column = week.querySelector(".week-head").getBoundingClientRect();
  const row = week.closest(".planner-row").getBoundingClientRect();
  return { left: column.left, right: column.right, top: row.top, bottom: row.bottom };
}

function weekAt(x, y) {
  return weeks().find((week) => {
    const box = boxOf(week);
    return x >= box.left && x < box.right && y >= box.top && y < box.bottom;
  });
}

function mark(week) {
  for (const place of document.querySelectorAll("[data-drop]")) {
    delete place.dataset.drop;
    place.classList.remove("is-over");
  }
  if (!week) return;
  for (const place of [week, week.querySelector(".week-sheet")]) {
    place.dataset.drop = say("%s begins here").replace("%s", drag.words);
    place.classList.add("is-over");
  }
}

function end(isDrop) {
  if (!drag) return;
  const { monday, from, over, words } = drag;
  mark(null);
  drag.grip.classList.remove("is-dragged");
  drag = null;
  const by = over ? weeks().indexOf(over) - weeks().indexOf(from) : 0;
  if (isDrop && by) {
    document.dispatchEvent(new CustomEvent("season:do", { detail: { words: `edge ${monday} ${by}` } }));
  } else announce(say("%s begins where it began.").replace("%s", words));
}

document.addEventListener("pointerdown", (event) => {
  const grip = event.target.closest("[data-grip]");
  if (!grip || event.button !== 0 || !event.isPrimary) return;
  event.preventDefault();
  grip.setPointerCapture(event.pointerId);
  grip.classList.add("is-dragged");
  const from = grip.closest("[data-week]");
  const words = grip.closest(".band").querySelector("[data-words]").dataset.words;
  drag = { grip, from, words, monday: grip.dataset.grip, over: from };
  mark(from);
});

document.addEventListener("pointermove", (event) => {
  if (!drag) return;
  if (event.clientY < 50) window.scrollBy(0, -16);
  if (event.clientY > innerHeight - 50) window.scrollBy(0, 16);
  drag.over = weekAt(event.clientX, event.clientY) ?? drag.over;
  mark(drag.over);
});

document.addEventListener("pointerup", () => end(true));
document.addEventListener("pointercancel", () => end(false));
document.addEventListener("keydown", (event) => event.key === "Escape" && end(false));
