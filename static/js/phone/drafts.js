// What is typed and not saved yet outlives the page: a phone may drop it at any moment. A draft
// belongs to one person and one day, and goes when its log is saved.

const prefix = `draft ${document.body.dataset.person} `;
const say = globalThis.gettext ?? ((text) => text);

function nameOf(form) {
  return `${prefix}${form.closest("details").id}`;
}

function fieldsOf(form) {
  return [...form.elements].filter((field) => field.name && !/hidden|submit|button/.test(field.type));
}

function keep(form) {
  const said = fieldsOf(form).map((field) => (/radio|checkbox/.test(field.type) ? field.checked : field.value));
  try {
    localStorage.setItem(nameOf(form), JSON.stringify({ day: new Date().toDateString(), said }));
  } catch {
    // A phone without room keeps no drafts; saving still works or says that it does not.
  }
}

function restore(form) {
  let draft = null;
  try {
    draft = JSON.parse(localStorage.getItem(nameOf(form)));
  } catch {
    return;
  }
  const fields = fieldsOf(form);
  if (!draft || draft.day !== new Date().toDateString() || draft.said.length !== fields.length) {
    if (draft) localStorage.removeItem(nameOf(form));
    return;
  }
  fields.forEach((field, index) => {
    if (/radio|checkbox/.test(field.type)) field.checked = draft.said[index];
    else field.value = draft.said[index];
  });
  form.dispatchEvent(new Event("change"));
  const state = form.closest("details").querySelector("[data-state]");
  state.textContent = say("Not saved");
  state.hidden = false;
}

for (const form of document.querySelectorAll("form[data-kind]")) {
  restore(form);
  form.addEventListener("input", () => keep(form));
  form.addEventListener("change", (event) => event.isTrusted && keep(form));
  form.addEventListener("log:saved", () => localStorage.removeItem(nameOf(form)));
}
