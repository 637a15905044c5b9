// Logs wait on the phone until the server has them. Nothing leaves before the server has answered
// for it, and nobody but the person who wrote a log sees or sends it. Pages talk to this module by
// events on the document: `outbox:add`, `outbox:remove`, `outbox:send`; it answers `outbox:changed`,
// and `outbox:later` if it has to be asked again (`trying.js`).

const PERSON = document.body.dataset.person;
const ADDRESS = document.body.dataset.outbox;
const FRESH_PAGE = document.body.dataset.me;
const MOST = 50;
const LARGEST = 60_000;

let token = document.body.dataset.csrf;
let trouble = "";
let opened;

function result(asked) {
  return new Promise((resolve, reject) => {
    asked.onsuccess = () => resolve(asked.result);
    asked.onerror = () => reject(asked.error);
  });
}

function open() {
  if (!opened) {
    const asked = indexedDB.open("seasonplan", 1);
    asked.onupgradeneeded = () => asked.result.createObjectStore("outbox", { keyPath: "key" });
    opened = result(asked);
  }
  return opened;
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

async function say(sent = []) {
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

// The answer's receipts, or nothing if the logs have to wait; `trouble` then says why.
async function post(batch, again = true) {
  const body = JSON.stringify({ messages: batch.map((entry) => entry.message) });
  const headers = { "Content-Type": "application/json", "X-CSRFToken": token };
  const answer = await fetch(ADDRESS, { method: "POST", headers, body, credentials: "same-origin" });
  if (answer.status === 403 && again) {
    if (await renew()) return post(batch, false);
    trouble = "signed out";
    return undefined;
  }
  if (answer.status === 413) {
    if (batch.length > 1) return post(batchOf(batch, Math.ceil(batch.length / 2)), again);
    return [{ key: batch[0].key, status: "refused", reasons: { "": "This is too long. Shorten it." } }];
  }
  trouble = answer.status === 401 ? "signed out" : "server";
  if (answer.status !== 200) return undefined;
  const said = await answer.json();
  token = said.csrf ?? token;
  trouble = "";
  return said.receipts;
}

// A page kept from before the last sign-in has an old token; whoever is signed in now has the new.
async function renew() {
  const answer = await fetch(FRESH_PAGE, { credentials: "same-origin", cache: "no-store" });
  const { person, csrf } = new DOMParser().parseFromString(await answer.text(), "text/html").body.dataset;
  if (person && person !== PERSON) location.replace(FRESH_PAGE);
  if (person === PERSON) token = csrf;
  return person === PERSON;
}

async function sendAll() {
  for (;;) {
    const waiting = (await mine()).filter((entry) => !entry.reasons);
    if (!waiting.length) break;
    const receipts = await post(batchOf(waiting, MOST)).catch(() => {
      trouble = "no signal";
    });
    const byKey = new Map((receipts ?? []).map((receipt) => [receipt.key, receipt]));
    const settled = waiting.filter((entry) => byKey.has(entry.key));
    if (!settled.length) return trouble === "signed out" || later();
    await change((store) => {
      for (const entry of settled) {
        const { status, reasons } = byKey.get(entry.key);
        if (status === "refused") store.put({ ...entry, reasons: reasons ?? {} });
        else store.delete(entry.key);
      }
    });
    await say(settled.filter((entry) => byKey.get(entry.key).status !== "refused"));
  }
  trouble = "";
}

function later() {
  document.dispatchEvent(new CustomEvent("outbox:later"));
}

// One tab at a time; a second one looks again a little later.
async function send() {
  const once = async (lock) => (lock ? sendAll() : later());
  await (navigator.locks ? navigator.locks.request("outbox", { ifAvailable: true }, once) : sendAll());
  await say();
}

document.addEventListener("outbox:add", async ({ detail: { message, title, replaces, done, failed } }) => {
  const kept = await change((store) => {
    store.put({ key: message.key, person: PERSON, title, message });
    if (replaces) store.delete(replaces);
  }).then(() => true, () => false);
  if (!kept) return failed();
  done();
  navigator.storage?.persist?.();
  await say();
  return send();
});

document.addEventListener("outbox:remove", async ({ detail: { key } }) => {
  await change((store) => store.delete(key));
  await say();
});

document.addEventListener("outbox:send", send);
say().then(send, () => {});
