// What every page needs beside HTML and htmx: say what went wrong, and what changed.

const announcer = document.getElementById("announcer");
const trouble = document.getElementById("trouble");
const say = globalThis.gettext ?? ((text) => text);

function announce(text) {
  announcer.textContent = "";
  requestAnimationFrame(() => {
    announcer.textContent = text;
  });
}

function showTrouble(text) {
  trouble.textContent = text;
  trouble.hidden = false;
}

document.body.addEventListener("htmx:beforeRequest", () => {
  trouble.hidden = true;
});

document.body.addEventListener("htmx:sendError", () => {
  showTrouble(say("The server could not be reached. Nothing was changed; check the connection and try again."));
});

document.body.addEventListener("htmx:timeout", () => {
  showTrouble(say("The server took too long to answer. Reload the page to see how things stand."));
});

document.body.addEventListener("htmx:responseError", (event) => {
  const { status } = event.detail.xhr;
  if (status === 403) showTrouble(say("You may look at this, but not change it."));
  else if (status === 404) showTrouble(say("This is no longer here. Reload the page to see how things stand."));
  else showTrouble(say("Something broke on our side. Reload the page and try once more."));
});

// A piece can carry a sentence for the live region.
document.body.addEventListener("htmx:afterSettle", () => {
  const said = document.querySelector("[data-announce]");
  if (said) {
    announce(said.dataset.announce);
    said.removeAttribute("data-announce");
  }
});
