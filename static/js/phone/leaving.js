// Signing out with logs that are not sent yet, or texts of a meeting that the server does not have,
// asks first, on every page that has the button.

const SIGN_OUT = "form[action*='/account/logout/']";
const person = document.body.dataset.person;
const say = globalThis.gettext ?? ((text) => text);
const sayMany = globalThis.ngettext ?? ((one, many, count) => (count === 1 ? one : many));

function result(asked) {
  return new Promise((resolve, reject) => {
    asked.onsuccess = () => resolve(asked.result);
    asked.onerror = () => reject(asked.error);
  });
}

// The outbox of `outbox.js`, made empty where there is none yet.
function open() {
  const asked = indexedDB.open("seasonplan", 1);
  asked.onupgradeneeded = () => asked.result.createObjectStore("outbox", { keyPath: "key" });
  return result(asked);
}

async function unsent() {
  const all = await result((await open()).transaction("outbox").objectStore("outbox").getAll());
  return all.filter((entry) => entry.person === person);
}

function texts() {
  return Object.keys(localStorage).filter((name) => name.startsWith(`meeting ${person} `));
}

// The logs and texts that wait, and the drafts of others beside them.
async function remove(entries) {
  for (const name of Object.keys(localStorage)) {
    if (name.startsWith(`draft ${person} `)) localStorage.removeItem(name);
  }
  for (const name of texts()) localStorage.removeItem(name);
  const transaction = (await open()).transaction("outbox", "readwrite");
  for (const entry of entries) transaction.objectStore("outbox").delete(entry.key);
  await new Promise((resolve) => {
    transaction.oncomplete = resolve;
  });
}

function ask(form, entries) {
  const dialog = document.createElement("dialog");
  dialog.className = "dialog";
  const title = document.createElement("h2");
  title.id = "leaving-title";
  title.textContent = sayMany("%s log is not sent yet", "%s logs are not sent yet", entries.length).replace("%s", entries.length);
  if (!entries.length) title.textContent = say("Something you wrote in a debrief is not saved yet");
  dialog.setAttribute("aria-labelledby", title.id);
  const text = document.createElement("p");
  text.textContent = entries.length
    ? say("If you sign out they stay on this phone, unseen by others, and are sent when you sign in here again.")
    : say("If you sign out it stays on this device, unseen by others, and is there again when you come back.");
  const button = (words, style, work) => {
    const made = document.createElement("button");
    made.type = "button";
    made.className = `button ${style}`;
    made.textContent = words;
    made.addEventListener("click", work);
    return made;
  };
  const go = () => HTMLFormElement.prototype.submit.call(form);
  dialog.append(
    title,
    text,
    button(say("Stay signed in"), "button-primary", () => dialog.close()),
    button(say("Sign out and keep them here"), "", go),
    button(say("Delete them and sign out"), "button-danger", () => remove(entries).then(go)),
  );
  dialog.addEventListener("close", () => dialog.remove());
  document.body.append(dialog);
  dialog.showModal();
}

document.addEventListener("submit", async (event) => {
  const form = event.target;
  if (!form.matches(SIGN_OUT)) return;
  event.preventDefault();
  const entries = await unsent().catch(() => []);
  if (entries.length || texts().length) ask(form, entries);
  else HTMLFormElement.prototype.submit.call(form);
});
