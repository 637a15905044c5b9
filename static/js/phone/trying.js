// When to try again: at once when the signal returns or the app comes to the front, and after a
// failure a little later each time.

const FIRST_WAIT_MS = 1000;
const LONGEST_WAIT_MS = 60_000;

let wait = FIRST_WAIT_MS;
let timer = 0;

function send() {
  clearTimeout(timer);
  document.dispatchEvent(new CustomEvent("outbox:send"));
}

function sendNow() {
  wait = FIRST_WAIT_MS;
  send();
}

document.addEventListener("outbox:later", () => {
  clearTimeout(timer);
  timer = setTimeout(send, wait);
  wait = Math.min(2 * wait, LONGEST_WAIT_MS);
});

document.addEventListener("outbox:changed", ({ detail: { sent } }) => {
  if (sent.length) wait = FIRST_WAIT_MS;
});

window.addEventListener("online", sendNow);
document.addEventListener("visibilitychange", () => document.visibilityState === "visible" && sendNow());
