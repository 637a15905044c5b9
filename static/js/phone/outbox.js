// Logs wait on the phone until the server has them. Nothing leaves before the server has answered
// for it, and nobody but the person who wrote a log sees or sends it. Pages talk to this module by
// events on the document: `outbox:add`, `outbox:remove`, `outbox:send`; it answers `outbox:changed`,
// and `outbox:later` if it has to be asked again (`trying.js`).

const PERSON = document.body.dataset.person;
const ADDRESS = document.body.dataset.outbox;
const FRESH_PAGE = document.body.dataset.me;
const MOST = 50;
const LARGEST = 60_000;
const PATIENCE_MS = 8000; // for an answer, beside what the way there takes
const BYTES_A_MS = 4; // on a network of 32 kbit a second
const say = globalThis.gettext ?? ((text) => text);

let token = document.body.dataset.csrf;
let trouble = "";
let opened;
let queued = false;

function result(asked) {
  return new Promise((resolve, reject) => {
    asked.onsuccess = () => resolve(asked.result);
    asked.onerror = () => reject(asked.error);
  });
}

function open() {
  if (opened) return opened;
  const asked = indexedDB.open("seasonplan", 1);
  asked.onupgradeneeded = () => asked.result.createObjectStore("outbox", { keyPath: "key" });
  return (opened = result(asked));
}

// Resolves when the phone has written it down, not before.
async function change(work) {
  const transaction = (await open()).transaction("outbox", "readwrite");
  work(transaction.objectStore("outbox"));
  await new Promise((resolve, reject) => {
    transaction.oncomplete = resolve;
    transaction.onabort = () => reject(transaction.error);
  });
}

async function mine() {
  const all = await result((await open()).transaction("outbox").objectStore("outbox").getAll());
  const own = all.filter((entry) => entry.person === PERSON);
  return own.sort((a, b) => Date.parse(a.message.written_at) - Date.parse(b.message.written_at));
}

async function tell(sent = []) {
  const entries = await mine();
  const waiting = entries.filter((entry) => !entry.reasons);
  const refused = entries.filter((entry) => entry.reasons);
  document.dispatchEvent(new CustomEvent("outbox:changed", { detail: { waiting, refused, sent, trouble } }));
}

function batchOf(entries, most) {
  const batch = [];
  let size = 0;
  for (const entry of entries) {
    size += new TextEncoder().encode(JSON.stringify(entry.message)).length + 2;
    if (batch.length && (batch.length === most || size > LARGEST)) break;
    batch.push(entry);
  }
  return batch;
}

// A connection that carries nothing is given up: all that waits would wait as long as it does.
function ask(address, options) {
  const signal = AbortSignal.timeout?.(PATIENCE_MS + (options.body?.length ?? 0) / BYTES_A_MS);
  return fetch(address, { credentials: "same-origin", signal, ...options });
}

// The answer's receipts, or nothing if the logs have to wait; `trouble` then says why.
async function post(batch, again = true) {
  const body = JSON.stringify({ messages: batch.map((entry) => entry.message) });
  const headers = { "Content-Type": "application/json", "X-CSRFToken": token };
  const answer = await ask(ADDRESS, { method: "POST", headers, body });
  if (answer.status === 403 && again && (await renew())) return post(batch, false);
  if (answer.status === 413) {
    if (batch.length > 1) return post(batchOf(batch, Math.ceil(batch.length / 2)), again);
    return [{ key: batch[0].key, status: "refused", reasons: { "": say("This is too long. Shorten it.") } }];
  }
  trouble = answer.status === 401 || (answer.status === 403 && again) ? "signed out" : "server";
  if (answer.status !== 200) return undefined;
  const said = await answer.json();
  token = said.csrf ?? token;
  trouble = "";
  return said.receipts;
}

// A page kept from before the last sign-in has an old token; whoever is signed in now has the new.
// Who is signed out is led to another page; no answer, or another one, has signed nobody out.
async function renew() {
  const answer = await ask(FRESH_PAGE, { cache: "no-store" });
  const { person, csrf } = new DOMParser().parseFromString(await answer.text(), "text/html").body.dataset;
  if (!answer.ok || (!person && !answer.redirected)) throw new Error("no page of this server");
  if (person && person !== PERSON) location.replace(FRESH_PAGE);
  if (person === PERSON) token = csrf;
  return person === PERSON;
}

async function sendAll() {
  queued = false;
  for (;;) {
    const waiting = (await mine()).filter((entry) => !entry.reasons);
    if (!waiting.length) break;
    const receipts = await post(batchOf(waiting, MOST)).catch(() => {
      trouble = "no signal";
    });
    const byKey = new Map((receipts ?? []).map((receipt) => [receipt.key, receipt]));
    const settled = waiting.filter((entry) => byKey.has(entry.key));
    if (!settled.length) return trouble === "signed out" || document.dispatchEvent(new CustomEvent("outbox:later"));
    await change((store) => {
      for (const entry of settled) {
        const { status, reasons } = byKey.get(entry.key);
        if (status === "refused") store.put({ ...entry, reasons: reasons ?? {} });
        else store.delete(entry.key);
      }
    });
    await tell(settled.filter((entry) => byKey.get(entry.key).status !== "refused"));
  }
  trouble = "";
}

// One tab at a time; another one waits for its turn, and finds what is left.
async function send() {
  if (queued) return;
  queued = true;
  await (navigator.locks?.request("outbox", sendAll) ?? sendAll());
  await tell();
}

document.addEventListener("outbox:add", async ({ detail: { message, title, replaces, done, failed } }) => {
  const kept = await change((store) => {
    store.put({ key: message.key, person: PERSON, title, message });
    if (replaces) store.delete(replaces);
  }).then(() => true, () => false);
  if (!kept) return failed();
  done();
  navigator.storage?.persist?.();
  await tell();
  return send();
});

document.addEventListener("outbox:remove", ({ detail: { key } }) => change((store) => store.delete(key)).then(() => tell()));

document.addEventListener("outbox:send", send);
tell().then(send, () => {});
