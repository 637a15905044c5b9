// What each page of the phone needs: the service worker, the age of what is shown, the outbox's
// count. The pages and files to have at hand without a signal are those this page links to.

const { pages, worker, anew } = document.body.dataset;
const html = document.documentElement;
const say = globalThis.gettext ?? ((text) => text);
const sayMany = globalThis.ngettext ?? ((one, many, count) => (count === 1 ? one : many));
const wasKept = html.hasAttribute("data-kept");

if ("serviceWorker" in navigator && window.isSecureContext) {
  navigator.serviceWorker.register(worker, { scope: "/" }).catch(() => {});
  navigator.serviceWorker.ready.then(({ active }) => {
    const linked = document.querySelectorAll("link[rel=stylesheet], link[rel=icon], script[src]");
    const files = [...linked].map((element) => element.href || element.src);
    active.postMessage({ keep: pages.split(" "), files });
  });
}

// Back to a page from before somebody else signed in: ask the server who is there.
window.addEventListener("pageshow", (event) => event.persisted && location.reload());

// How old --------------------------------------------------------------------------------------

const stamp = document.querySelector("[data-made]");

function ago(minutes) {
  const words = new Intl.RelativeTimeFormat(html.lang, { numeric: "auto" });
  if (minutes < 60) return words.format(-Math.round(minutes), "minute");
  if (minutes < 48 * 60) return words.format(-Math.round(minutes / 60), "hour");
  return words.format(-Math.round(minutes / 1440), "day");
}

function sayAge() {
  const minutes = Math.max(0, (Date.now() - Date.parse(stamp.dateTime)) / 60_000);
  const age = minutes < 1 ? say("just now") : ago(minutes);
  document.querySelector("[data-ago]").textContent = ` (${age})`;
}

function day(moment) {
  const two = (number) => String(number).padStart(2, "0");
  return `${moment.getFullYear()}-${two(moment.getMonth() + 1)}-${two(moment.getDate())}`;
}

// The week and day of the phone's own clock, which goes on while the page does not.
function markNow() {
  const today = day(new Date());
  for (const line of document.querySelectorAll("[data-day]")) {
    if (line.dataset.day === today) line.setAttribute("aria-current", "date");
    else line.removeAttribute("aria-current");
  }
  for (const week of document.querySelectorAll("[data-first]")) {
    const isNow = week.dataset.first <= today && today <= week.dataset.last;
    week.classList.toggle("is-now", isNow);
    if (isNow) week.setAttribute("aria-current", "date");
    else week.removeAttribute("aria-current");
  }
  const lines = [...document.querySelectorAll("[data-day]")];
  const over = document.querySelector("[data-over]");
  if (over) over.hidden = !lines.length || lines.some((line) => line.dataset.day === today);
}

if (stamp) {
  sayAge();
  setInterval(sayAge, 60_000);
  if (wasKept) markNow();
  window.addEventListener("offline", () => {
    sayAge();
    html.setAttribute("data-kept", "");
  });
  window.addEventListener("online", () => html.toggleAttribute("data-kept", wasKept));
}

// The outbox -----------------------------------------------------------------------------------

const TROUBLES = {
  "signed out": say("You are signed out. Sign in, and they are sent."),
  "no signal": say("There is no signal. They are sent when it returns."),
  server: say("The server did not take them. They are tried again."),
};

document.addEventListener("outbox:changed", ({ detail: { waiting, refused, sent, trouble } }) => {
  const total = waiting.length + refused.length;
  for (const badge of document.querySelectorAll("[data-badge]")) {
    badge.hidden = !total;
    badge.querySelector("b").textContent = String(total);
  }
  const state = document.querySelector("[data-outbox-state]");
  if (state) {
    const logs = sayMany("%s log waits on this phone.", "%s logs wait on this phone.", waiting.length).replace("%s", waiting.length);
    const came = sayMany("%s came back: see Log.", "%s came back: see Log.", refused.length);
    const back = refused.length ? ` ${came.replace("%s", refused.length)}` : "";
    const why = TROUBLES[trouble] ?? "";
    state.textContent = waiting.length ? `${logs} ${why}${back}` : say("Everything is sent.") + back;
    document.querySelector("[data-send]").hidden = !waiting.length;
  }
  const signIn = document.querySelector("[data-sign-in]");
  if (signIn) signIn.hidden = !(waiting.length && trouble === "signed out");
  if (sent.length) navigator.serviceWorker?.controller?.postMessage({ keep: anew.split(" "), anew: true });
});

document.querySelector("[data-send]")?.addEventListener("click", () => {
  document.dispatchEvent(new CustomEvent("outbox:send"));
});
