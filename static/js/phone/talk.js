// Whoever has said that they feel low, or would like to talk, is led to a person as soon as the log
// is saved, with or without a signal. Nothing is worked out: it is what the player has just said.

const section = document.getElementById("talk");
const LOW_MOOD = 2;

function answer(form, name) {
  return form.querySelector(`[data-question="${name}"]`)?.answer ?? null;
}

document.addEventListener("log:saved", ({ target: form }) => {
  if (form.dataset.kind !== "day") return;
  const mood = answer(form, "mood");
  const said = { asks: answer(form, "wants_to_talk") === true, low: mood !== null && mood <= LOW_MOOD };
  for (const words of section.querySelectorAll("[data-talk]")) words.hidden = !said[words.dataset.talk];
  if (!said.asks && !said.low) return;
  form.closest("details").after(section);
  section.classList.add("notice");
  section.querySelector("h2").focus();
});
