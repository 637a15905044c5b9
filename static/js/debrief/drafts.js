// A decision that is half typed outlives the page, on this device, until it is added.

const person = document.body.dataset.person;
const say = globalThis.gettext ?? ((text) => text);

function nameOf(form) {
  return `meeting ${person} ${form.dataset.drafts}`;
}

function keep(form) {
  const said = Object.fromEntries(new FormData(form));
  delete said.csrfmiddlewaretoken;
  try {
    localStorage.setItem(nameOf(form), JSON.stringify(said));
  } catch {
    return; // A device without room keeps no drafts.
  }
  form.querySelector("[data-draft-state]").textContent = say("Kept on this device; not added yet.");
}

// A draft whose decision stands on the page was added, also if its answer never arrived.
function restore(form) {
  let said = null;
  try {
    said = JSON.parse(localStorage.getItem(nameOf(form)));
  } catch {
    return;
  }
  if (!said) return;
  if (document.querySelector(`[data-decision="${CSS.escape(said.key)}"]`)) {
    localStorage.removeItem(nameOf(form));
    return;
  }
  if (form.querySelector(".field-wrong")) return;
  for (const [name, value] of Object.entries(said)) {
    const field = form.elements[name];
    if (field) field.value = value;
  }
  form.closest("details").open = true;
  form.querySelector("[data-draft-state]").textContent = say("As you left it on this device; not added yet.");
}

for (const form of document.querySelectorAll("form[data-drafts]")) {
  restore(form);
  form.addEventListener("input", () => keep(form));
}
