// Answering under a thumb: questions that only some answers lead to, taking an answer back by
// tapping it again, and offered words that fill a field in.

for (const ideas of document.querySelectorAll(".ideas")) ideas.hidden = false;

function answer(form, name) {
  return form.querySelector(`[name="${name}"]:checked`)?.value ?? "";
}

// A question is asked if the one it hangs on is, and was answered so.
function show(form) {
  for (const question of form.querySelectorAll("[data-only-if]")) {
    const [name, values] = question.dataset.onlyIf.split(":");
    const asked = !form.querySelector(`[data-question="${name}"]`)?.hidden;
    question.hidden = !asked || !values.split(" ").includes(answer(form, name));
  }
  for (const idea of form.querySelectorAll("[data-idea]")) {
    const field = idea.closest(".field").querySelector(".control");
    idea.setAttribute("aria-pressed", String(field.value === idea.dataset.idea));
  }
}

for (const form of document.querySelectorAll("form[data-kind]")) {
  show(form);
  form.addEventListener("input", () => show(form));
  form.addEventListener("change", () => show(form));
  form.addEventListener("reset", () => setTimeout(() => show(form)));
}

// A radio button that was chosen before the tap is let go by it, unless an answer is needed.
let chosenBefore = null;

document.addEventListener("pointerdown", ({ target }) => {
  const radio = target.closest?.("label")?.querySelector("input[type=radio]");
  chosenBefore = radio?.checked && !radio.closest("[data-needed]") ? radio : null;
});

document.addEventListener("click", ({ target }) => {
  if (target.matches?.("input[type=radio]") && target === chosenBefore) {
    target.checked = false;
    chosenBefore = null;
    target.dispatchEvent(new Event("change", { bubbles: true }));
  }
  const idea = target.closest?.("[data-idea]");
  if (idea) {
    const field = idea.closest(".field").querySelector(".control");
    field.value = idea.dataset.idea;
    field.dispatchEvent(new Event("input", { bubbles: true }));
  }
});
