// The season by keyboard: arrows walk the weeks and move blocks, Enter opens, Delete takes out,
// Ctrl+Z undoes. Each presses the button that is there anyway.

const say = globalThis.gettext ?? ((text) => text);
const sayMany = globalThis.ngettext ?? ((one, many, count) => (count === 1 ? one : many));
let here = null;

const heads = () => [...document.querySelectorAll("#planner .week-head")];

function announce(text) {
  document.getElementById("announcer").textContent = text;
}

// One week at a time can be reached with Tab.
function settle() {
  const all = heads();
  if (!all.length) return;
  const at =
    all.find((head) => head.id === here) ?? document.querySelector("#planner .is-now .week-head") ?? all[0];
  for (const head of all) head.tabIndex = head === at ? 0 : -1;
}

function go(head) {
  here = head.id;
  settle();
  head.focus();
  head.scrollIntoView({ block: "nearest" });
}

function beside(head, key) {
  const all = heads();
  const at = all.indexOf(head);
  const isList = getComputedStyle(head.closest("li")).display !== "contents";
  const step = { ArrowLeft: -1, ArrowRight: 1, ArrowUp: isList ? -1 : 0, ArrowDown: isList ? 1 : 0 }[key];
  if (key === "Home") return all[0];
  if (key === "End") return all.at(-1);
  if (step) return all[at + step];
  const rows = [...document.querySelectorAll("#planner .planner-row")];
  const row = head.closest(".planner-row");
  const column = [...row.querySelectorAll(".week-head")].indexOf(head);
  const other = rows[rows.indexOf(row) + (key === "ArrowUp" ? -1 : 1)];
  const there = other ? [...other.querySelectorAll(".week-head")] : [];
  return there[Math.min(column, there.length - 1)];
}

function openWeek(head) {
  const link = head.closest("li").querySelector(".card h3 a");
  if (link) {
    link.click();
    return;
  }
  const week = head.closest("[data-week]").dataset.week;
  const lines = [...document.querySelectorAll("[data-candidate]:not([hidden])")];
  const fits = lines.filter((line) => line.dataset.weeks.split(" ").includes(week));
  if (!fits.length) {
    announce(say("Nothing is in this week, and no event of the calendar lies in it."));
    return;
  }
  fits[0].closest("details").open = true;
  fits[0].querySelector("a").focus();
  announce(
    sayMany(
      "Nothing is in this week. One event could be put in.",
      "Nothing is in this week. %s events could be put in.",
      fits.length,
    ).replace("%s", fits.length),
  );
}

function takeOut(card) {
  const first = document.getElementById(`event-${card?.dataset.event}`);
  const button = first?.closest(".card").querySelector(".card-out");
  if (button) button.click();
  else announce(say("There is no event to take out here."));
}

function moveBlock(link, key, isEnd) {
  const blocks = [...document.querySelectorAll("#planner .band-link")];
  const moves = blocks.indexOf(link) + (isEnd ? 1 : 0);
  if (moves === 0 || !blocks[moves]) {
    announce(isEnd ? say("The last block ends with the season.") : say("The first block begins with the season."));
    return;
  }
  const by = key === "ArrowLeft" ? -1 : 1;
  document.dispatchEvent(new CustomEvent("season:do", { detail: { moves, by } }));
}

document.addEventListener("keydown", (event) => {
  if (event.target.closest("input, textarea, select, [contenteditable]")) return;
  if ((event.ctrlKey || event.metaKey) && event.key.toLowerCase() === "z") {
    event.preventDefault();
    document.getElementById(event.shiftKey ? "redo" : "undo")?.click();
    return;
  }
  if (event.ctrlKey || event.metaKey || event.altKey) return;
  const head = event.target.closest(".week-head");
  const link = event.target.closest(".band-link");
  const card = event.target.closest(".card");
  if (link && ["ArrowLeft", "ArrowRight"].includes(event.key)) {
    event.preventDefault();
    moveBlock(link, event.key, event.shiftKey);
  } else if (head && (event.key.startsWith("Arrow") || ["Home", "End"].includes(event.key))) {
    event.preventDefault();
    const next = beside(head, event.key);
    if (next) go(next);
  } else if (head && event.key === "Enter") {
    openWeek(head);
  } else if ((head || card) && event.key === "Delete") {
    event.preventDefault();
    takeOut(card ?? head.closest("li").querySelector(".card"));
  }
});

document.body.addEventListener("htmx:afterSettle", settle);
settle();
