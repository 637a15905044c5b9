// This week's planned sessions: done as planned with one tap, and taken back with another, with or
// without a signal. Both are messages about the session's own key, so that a session is one however
// often it is told. What a session shows is the last word on it: the server's, or the phone's own.

const say = globalThis.gettext ?? ((text) => text);
const SLIP_MS = 800; // a second tap of the same thumb takes nothing back

const canKeep = window.isSecureContext && "indexedDB" in window && "randomUUID" in crypto;
const announcer = document.getElementById("announcer");

function today() {
  const now = new Date();
  const two = (number) => String(number).padStart(2, "0");
  return `${now.getFullYear()}-${two(now.getMonth() + 1)}-${two(now.getDate())}`;
}

function moment(text) {
  return text ? Date.parse(text) : 0;
}

class Planned {
  constructor(row) {
    this.row = row;
    this.day = row.closest("[data-day]").dataset.day;
    this.words = this.find("[data-words]");
    this.server = { done: row.hasAttribute("data-done"), words: this.words.textContent };
    this.written = moment(row.dataset.written);
    this.sent = null;
    this.saving = false;
    this.savedAt = -Infinity;
  }

  find(selector) {
    return this.row.querySelector(selector);
  }

  // The last word that this phone has, if the server had not heard a later one.
  hear(waiting, refused, sent) {
    const about = ({ message }) => message.session === this.row.dataset.plannedSession;
    this.sent = sent.filter(about).at(-1)?.message ?? this.sent;
    const [waits, back] = [waiting.filter(about).at(-1)?.message, refused.some(about)];
    const said = [waits, this.sent].find((message) => message && moment(message.written_at) >= moment(this.row.dataset.written));
    this.written = Math.max(this.written, moment(said?.written_at));
    this.show(said, waits ? say("On this phone") : back ? say("Came back: see Log") : "");
  }

  show(said, state) {
    const { done, words } = said ? { done: !said.body.taken_back, words: this.tell(said.body) } : this.server;
    const isOpen = this.day <= today();
    this.done = done;
    this.words.textContent = words;
    this.find("[data-told]").hidden = !done;
    this.find("[data-do=done]").hidden = done || !isOpen;
    this.find("details").hidden = !done && !isOpen;
    this.find("[data-other]").textContent = done ? say("Change it") : say("Done differently");
    const tag = this.find("[data-waits]");
    tag.textContent = state;
    tag.hidden = !state;
  }

  tell({ as_planned: asPlanned, minutes, effort, day }) {
    const style = { weekday: "short", day: "numeric", month: "short" };
    const on = new Date(`${day}T12:00`).toLocaleDateString(document.documentElement.lang, style).replace(",", "");
    const words =
      day === this.day
        ? asPlanned
          ? say("Done as planned: %(minutes)s min, effort %(effort)s of 10")
          : say("Done differently: %(minutes)s min, effort %(effort)s of 10")
        : asPlanned
          ? say("Done as planned: %(minutes)s min, effort %(effort)s of 10, on %(day)s")
          : say("Done differently: %(minutes)s min, effort %(effort)s of 10, on %(day)s");
    return words.replace("%(minutes)s", minutes).replace("%(effort)s", effort).replace("%(day)s", on);
  }

  save(form, tappedAt) {
    if (this.saving) return;
    this.saving = true;
    const given = Object.fromEntries(new FormData(form));
    const { session, planned_key: key, what, minutes, effort, day } = given;
    const message = {
      key: crypto.randomUUID(),
      kind: "session",
      player: Number(form.dataset.player),
      event: null,
      day: null,
      session,
      // After what was said before, whatever the clock does: the later word counts.
      written_at: new Date(Math.max(Date.now(), this.written + 1)).toISOString(),
      body: {
        what,
        minutes: Number(minutes),
        effort: Number(effort),
        day,
        planned_key: key,
        as_planned: "as_planned" in given,
        taken_back: "taken_back" in given,
      },
    };
    const done = () => {
      this.saving = false;
      this.savedAt = tappedAt;
      const said = message.body.taken_back ? say("%s is taken back.") : say("%s is saved on this phone.");
      announcer.textContent = said.replace("%s", () => what);
      this.row.focus({ preventScroll: true });
    };
    const failed = () => HTMLFormElement.prototype.submit.call(form);
    document.dispatchEvent(new CustomEvent("outbox:add", { detail: { message, title: what, replaces: null, done, failed } }));
  }
}

const all = [...document.querySelectorAll("[data-planned-session]")].map((row) => new Planned(row));

function listen({ waiting, refused, sent }) {
  for (const planned of all) planned.hear(waiting, refused, sent);
  document.querySelector("[data-done-count]").textContent = String(all.filter(({ done }) => done).length);
}

let heard = { waiting: [], refused: [], sent: [] };
listen(heard);

document.addEventListener("outbox:changed", ({ detail }) => {
  heard = { ...detail, sent: [] };
  listen(detail);
});

// The next morning the same page opens the sessions of that day.
document.addEventListener("visibilitychange", () => listen(heard));

// Where the button was that said it, the same thumb now finds another one.
document.addEventListener("click", (event) => {
  const planned = all.find(({ row }) => row.contains(event.target));
  if (planned && event.timeStamp - planned.savedAt < SLIP_MS) event.preventDefault();
});

document.addEventListener("submit", (event) => {
  const planned = all.find(({ row }) => row.contains(event.target));
  if (!planned || !event.target.dataset.do || !canKeep) return;
  event.preventDefault();
  planned.save(event.target, event.timeStamp);
});
