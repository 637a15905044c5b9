// The page of logs beside the outbox: what still waits, what was sent, and what came back with the
// reason and every word that was typed.

const section = document.getElementById("came-back");
const list = section.querySelector("ul");
const say = globalThis.gettext ?? ((text) => text);

function formOf({ kind, event, player }) {
  const at = event ? `[data-event="${event}"]` : "";
  return document.querySelector(`form[data-kind="${kind}"][data-player="${player}"]${at}`);
}

function element(name, text, className = "") {
  const made = document.createElement(name);
  made.textContent = text;
  made.className = className;
  return made;
}

function words(value) {
  if (value === true) return say("yes");
  if (value === false || value === null || value === "") return "–";
  if (!Array.isArray(value)) return String(value);
  return value.map((part) => (typeof part === "object" ? Object.values(part).map(words).join(" ") : part)).join(", ");
}

function labelOf(form, name) {
  return form?.querySelector(`[data-question="${name}"]`)?.label ?? name.replaceAll("_", " ");
}

function item(entry) {
  const { message, title, reasons } = entry;
  const form = formOf(message);
  const made = document.createElement("li");
  const when = new Date(message.written_at).toLocaleString(document.documentElement.lang, { dateStyle: "medium", timeStyle: "short" });
  made.append(element("h3", title), element("p", say("Written %s").replace("%s", when), "help"));
  for (const [name, reason] of Object.entries(reasons)) {
    const where = name in message.body ? `${labelOf(form, name)}: ` : "";
    made.append(element("p", where + reason, "wrong"));
  }
  const typed = document.createElement("dl");
  for (const [name, value] of Object.entries(message.body)) {
    typed.append(element("dt", labelOf(form, name)), element("dd", words(value)));
  }
  const buttons = element("div", "", "actions");
  const change = element("button", say("Change it"), "button");
  change.addEventListener("click", () => document.dispatchEvent(new CustomEvent("log:fill", { detail: { form, entry } })));
  const remove = element("button", say("Throw it away"), "button button-danger");
  remove.addEventListener("click", () => {
    // A second tap, so that a slip of the thumb loses nothing.
    if (remove.dataset.sure) document.dispatchEvent(new CustomEvent("outbox:remove", { detail: { key: entry.key } }));
    remove.dataset.sure = "yes";
    remove.textContent = say("Really throw it away?");
  });
  for (const button of [change, remove]) button.type = "button";
  if (form) buttons.append(change);
  buttons.append(remove);
  made.append(typed, buttons);
  return made;
}

function mark(entries, text) {
  for (const { message } of entries) {
    const state = formOf(message)?.closest("details").querySelector("[data-state]");
    if (!state) continue;
    state.textContent = text;
    state.hidden = false;
  }
}

let shown = "";

document.addEventListener("outbox:changed", ({ detail: { waiting, refused, sent } }) => {
  mark(sent, say("Sent"));
  mark(waiting, say("On this phone"));
  mark(refused, say("Came back"));
  const keys = refused.map((entry) => entry.key).join();
  if (keys === shown) return;
  shown = keys;
  section.hidden = !refused.length;
  list.replaceChildren(...refused.map(item));
});
