// Narrow the long table of events as one types; the form itself works without.

const filter = document.getElementById("filter");

if (filter) {
  filter.closest("p").hidden = false;
  const bodies = [...document.querySelectorAll(".choose-table tbody")];
  const none = document.querySelector(".choose-none");

  filter.addEventListener("input", () => {
    const words = filter.value.toLowerCase().split(/\s+/).filter(Boolean);
    let shown = 0;
    for (const body of bodies) {
      let inMonth = 0;
      for (const row of body.querySelectorAll("tr[data-text]")) {
        row.hidden = !words.every((word) => row.dataset.text.includes(word));
        if (!row.hidden) inMonth += 1;
      }
      body.hidden = inMonth === 0;
      shown += inMonth;
    }
    none.hidden = shown > 0;
  });

  filter.addEventListener("keydown", (event) => {
    if (event.key === "Enter") event.preventDefault();
  });
}
