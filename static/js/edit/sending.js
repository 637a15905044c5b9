// Every edit is sent by one form, whatever asked for it: a button, a key or a drag. Here the words
// of the edit get into it, one edit waits for the other, and the focus stays where it was.

const form = document.getElementById("edit");
const blocks = () => [...document.querySelectorAll("#planner .band-link")];
let keep = [];

// Words can be known late: a block that moved twice begins elsewhere the second time, and what
// there is to undo is another step.
function wordsOf(button) {
  if (["undo", "redo"].includes(button.id)) return document.getElementById(button.id)?.value ?? "";
  if (!button.dataset.moves) return button.value;
  const block = blocks()[button.dataset.moves];
  return `edge ${block?.dataset.block} ${button.dataset.by}`;
}

document.addEventListener("season:do", (event) => {
  const button = document.createElement("button");
  Object.assign(button, { name: "do", type: "submit", hidden: true, value: event.detail.words ?? "" });
  if ("moves" in event.detail) Object.assign(button.dataset, { moves: event.detail.moves, by: event.detail.by });
  form.append(button);
  form.requestSubmit(button);
  button.remove();
});

document.body.addEventListener("htmx:configRequest", (event) => {
  if (event.detail.elt !== form) return;
  const button = event.detail.triggeringEvent?.submitter;
  if (button) event.detail.parameters.do = wordsOf(button);
  if (/^(undo|redo)? *$/.test(event.detail.parameters.do)) event.preventDefault();
  event.detail.parameters.open = document.querySelector("#panel.is-open[data-open]")?.dataset.open ?? "";
});

// Where the focus may go if what has it is gone: its own id first, then what stands nearest. A
// block that moved is the one of the same number.
function nearest(element) {
  const week = element.closest("[data-week]");
  const event = element.closest("[data-event]")?.dataset.event;
  const candidate = element.closest("[data-candidate]");
  return [
    element.matches(".band-link") ? blocks().indexOf(element) : element.id,
    event && `event-${event}`,
    candidate && `event-${candidate.dataset.candidate}`,
    candidate && candidate.dataset.weeks.split(" ")[0],
    week?.dataset.week,
    element.id === "undo" && "redo",
    element.id === "redo" && "undo",
    element.closest("#panel") && "panel-title",
  ].filter((place) => place || place === 0);
}

document.body.addEventListener("htmx:beforeSwap", (event) => {
  const active = document.activeElement;
  if (event.detail.requestConfig.elt === form && active && active !== document.body) keep = nearest(active);
});

document.body.addEventListener("htmx:afterSettle", () => {
  const active = document.activeElement;
  if (active && active !== document.body) keep = [];
  for (const place of keep) {
    const element = typeof place === "number" ? blocks()[place] : document.getElementById(place);
    if (!element || element.disabled || !element.checkVisibility()) continue;
    element.focus({ preventScroll: true });
    if (document.activeElement === element) break;
  }
  keep = [];
});

// What was refused, and both versions of a clash, are shown in the panel: go there.
document.body.addEventListener("htmx:afterRequest", (event) => {
  if (event.detail.elt !== form || event.detail.xhr.status !== 409) return;
  document.getElementById("panel-title")?.focus();
});
