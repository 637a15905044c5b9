// Print with everything that the paper needs: the numbers of the chart's points are in a table that
// is closed on the screen.

for (const button of document.querySelectorAll("button[data-print]")) {
  button.hidden = false;
  button.addEventListener("click", () => print());
}

addEventListener("beforeprint", () => {
  for (const table of document.querySelectorAll("#events-table")) table.open = true;
});
