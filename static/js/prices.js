// A streamed page of prices is whole when this runs: say what it found.

const found = document.querySelector(".prices-found[data-announce]");
if (found) {
  document.getElementById("announcer").textContent = found.dataset.announce;
  found.removeAttribute("data-announce");
}
