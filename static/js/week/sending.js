// Every edit of the week is sent by a form that stands on the page. Here a drag or a key gets its
// words into it, all forms learn the revision that an edit made, and the focus stays where it was.

const form = document.getElementById("edit");
let keep = [];

document.addEventListener("week:do", (event) => {
  const button = document.createElement("button");
  Object.assign(button, { name: "do", type: "submit", hidden: true, value: event.detail.words });
  form.append(button);
  form.requestSubmit(button);
  button.remove();
});

const ofTheWeek = (element) => element === form || element.getAttribute("hx-sync") === "#edit:queue all";

// What one edit changed, the next one, which waited for it, is made on.
document.body.addEventListener("htmx:configRequest", (event) => {
  const { elt, parameters, triggeringEvent } = event.detail;
  if (!ofTheWeek(elt)) return;
  parameters.revision = document.getElementById("revision").value;
  if (elt !== form) return;
  const button = triggeringEvent?.submitter;
  if (button) parameters.do = button.id === "undo" ? (document.getElementById("undo")?.value ?? "") : button.value;
  if (!parameters.do) event.preventDefault();
  parameters.open = document.querySelector("#panel.is-open[data-open]")?.dataset.open ?? "";
});

// Where the focus may go if what has it is gone: its own id first, then what stands nearest.
function nearest(element) {
  const day = element.closest("[data-day]")?.dataset.day;
  return [element.id, day && `add-${day}`, element.closest("#panel") && "panel-title", "fill", "empty"].filter(Boolean);
}

document.body.addEventListener("htmx:beforeSwap", (event) => {
  const active = document.activeElement;
  const { elt } = event.detail.requestConfig;
  if (ofTheWeek(elt) && active && active !== document.body) keep = nearest(active);
});

function settle() {
  const active = document.activeElement;
  if (active && active !== document.body) keep = [];
  for (const id of keep) {
    const element = document.getElementById(id);
    if (!element || element.disabled || !element.checkVisibility()) continue;
    element.focus({ preventScroll: true });
    if (document.activeElement === element) break;
  }
  keep = [];
}

document.body.addEventListener("htmx:afterSettle", settle);

// What was refused is said in the panel, or beside the field that was wrong: go there.
document.body.addEventListener("htmx:afterRequest", (event) => {
  const { elt, xhr } = event.detail;
  if (!ofTheWeek(elt)) return;
  if (xhr.status === 422) document.querySelector(".field-wrong :is(input, select, textarea)")?.focus();
  if (xhr.status === 409) document.querySelector("#panel.is-open #panel-title")?.focus();
});
