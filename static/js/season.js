// The season screen: where the focus goes when the event panel opens and closes, and printing.

let opener = null;

function closePanel() {
  const panel = document.getElementById("panel");
  panel.replaceChildren();
  panel.classList.remove("is-open");
  const back = opener && document.querySelector(`[data-opens-panel][href="${opener}"]`);
  back?.focus();
  opener = null;
}

document.body.addEventListener("htmx:beforeRequest", (event) => {
  if (event.detail.elt.matches("[data-opens-panel]")) opener = event.detail.elt.getAttribute("href");
});

document.body.addEventListener("htmx:afterSwap", (event) => {
  if (event.detail.target.id === "panel") document.getElementById("panel-title")?.focus();
});

document.body.addEventListener("click", (event) => {
  if (event.target.closest("#panel [data-closes-panel]")) {
    event.preventDefault();
    closePanel();
  }
});

document.body.addEventListener("keydown", (event) => {
  if (event.key === "Escape" && document.querySelector("#panel.is-open")) closePanel();
});

document.body.addEventListener("click", (event) => {
  const link = event.target.closest("[data-print]");
  if (!link) return;
  event.preventDefault();
  const paper = new URL(link.href).searchParams.get("paper");
  document.body.classList.toggle("paper-a4", paper === "a4");
  document.body.classList.toggle("paper-a3", paper !== "a4");
  window.print();
});

// On the phone the year is one long column: begin at the current week.
const now = document.querySelector(".week.is-now");
if (now && !location.hash && window.matchMedia("(max-width: 60rem)").matches) {
  now.scrollIntoView({ block: "start" });
}
