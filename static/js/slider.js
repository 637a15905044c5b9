// Say the number of a slider while it moves; without this, its scale has to do.

document.addEventListener("input", (event) => {
  if (event.target.type !== "range") return;
  const shown = document.querySelector(`[data-shows="${event.target.id}"]`);
  if (shown) shown.textContent = event.target.value;
});
