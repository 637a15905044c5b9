// A log's form on the phone: one step at a time, and Save hands what was said to the outbox. Where
// the phone can keep nothing, the form posts itself as it would without a script.

const announcer = document.getElementById("announcer");
const say = globalThis.gettext ?? ((text) => text);
const canKeep = window.isSecureContext && "indexedDB" in window && "randomUUID" in crypto;

function today() {
  const now = new Date();
  const two = (number) => String(number).padStart(2, "0");
  return `${now.getFullYear()}-${two(now.getMonth() + 1)}-${two(now.getDate())}`;
}

class Log {
  constructor(form) {
    this.form = form;
    this.box = form.closest("details");
    this.steps = [...form.querySelectorAll("[data-step]")];
    this.questions = [...form.querySelectorAll("[data-question]")];
    this.replaces = null;
    this.planned = form.dataset.planned ?? null; // the key of the planned session that this is about
    this.again = new Set(); // fields of a log that came back: all of them are said again
    form.noValidate = true;
    if (form.dataset.kind === "day" && form.dataset.day !== today()) this.blank();
    this.date();
    this.remember();
    this.show(0);
    form.querySelector("[data-next]").addEventListener("click", () => this.go(this.at + 1));
    form.querySelector("[data-back]").addEventListener("click", () => this.go(this.at - 1));
    form.addEventListener("submit", (event) => canKeep && this.save(event));
    document.addEventListener("log:fill", ({ detail }) => detail.form === form && this.fill(detail.entry));
  }

  blank() {
    for (const question of this.questions) question.answer = question.dataset.gives === "matches" ? [] : null;
    const detail = this.box.querySelector("[data-detail]");
    detail.textContent = new Date().toLocaleDateString(document.documentElement.lang, { weekday: "short", day: "numeric", month: "short" });
    this.box.querySelector("[data-state]").hidden = true;
  }

  // A session is of today unless one says otherwise, also on a page that was kept yesterday.
  date() {
    const day = this.questions.find((question) => question.dataset.shape === "date");
    if (day && !this.planned) day.answer = today();
  }

  remember() {
    this.before = new Map(this.questions.map((question) => [question, JSON.stringify(question.answer)]));
  }

  show(at) {
    this.at = at;
    this.steps.forEach((step, index) => (step.hidden = index !== at));
    this.form.querySelector("[data-back]").hidden = at === 0;
    this.form.querySelector("[data-next]").hidden = at === this.steps.length - 1;
  }

  go(at) {
    this.show(at);
    this.steps[at].querySelector("h3").focus();
  }

  fault(question, text) {
    const wrong = this.form.querySelector("[data-wrong]");
    wrong.textContent = text;
    wrong.hidden = !text;
    if (!question) return;
    this.go(this.steps.findIndex((step) => step.contains(question)));
    question.querySelector("input, textarea").focus();
  }

  body() {
    const body = {};
    for (const question of this.questions) {
      const { question: name, needed } = question.dataset;
      const value = question.answer;
      const { label } = question;
      if (Number.isNaN(value)) return this.fault(question, say("%s: give a number.").replace("%s", label));
      if (needed !== undefined && (value === null || value === "")) return this.fault(question, say("Still to answer: %s.").replace("%s", label));
      const changed = JSON.stringify(value) !== this.before.get(question);
      if (needed !== undefined || changed || this.again.has(name)) body[name] = value;
    }
    return body;
  }

  save(event) {
    event.preventDefault();
    this.fault(null, "");
    const body = this.body();
    if (!body) return;
    const { kind, player, event: at } = this.form.dataset;
    if (this.planned) body.planned_key = this.planned;
    const message = {
      key: crypto.randomUUID(),
      kind,
      player: Number(player),
      event: at ? Number(at) : null,
      day: kind === "day" ? today() : null,
      session: kind === "session" ? (this.planned ?? crypto.randomUUID()) : null,
      written_at: new Date().toISOString(),
      body,
    };
    const title = this.box.querySelector("[data-title]").textContent;
    const failed = () => HTMLFormElement.prototype.submit.call(this.form);
    const detail = { message, title, replaces: this.replaces, done: () => this.saved(), failed };
    document.dispatchEvent(new CustomEvent("outbox:add", { detail }));
  }

  saved() {
    this.replaces = null;
    this.again.clear();
    const { kind, planned } = this.form.dataset;
    this.planned = planned ?? null;
    if (kind === "session" && !planned) {
      this.form.reset();
      this.date();
    } else this.remember();
    this.show(0);
    this.box.open = false;
    this.box.querySelector("summary").focus();
    announcer.textContent = say("Saved on this phone.");
    this.form.dispatchEvent(new CustomEvent("log:saved", { bubbles: true }));
  }

  fill({ key, message }) {
    for (const question of this.questions) {
      const name = question.dataset.question;
      if (name in message.body) question.answer = message.body[name];
    }
    this.replaces = key;
    this.planned = message.body.planned_key ?? null;
    this.again = new Set(Object.keys(message.body));
    this.form.dispatchEvent(new Event("change"));
    this.box.open = true;
    this.show(0);
    this.box.scrollIntoView();
    this.box.querySelector("summary").focus();
  }
}

for (const form of document.querySelectorAll("form[data-kind]")) new Log(form);

// A link to a log, from the week or after signing in, opens it.
function openNamed() {
  const named = document.getElementById(location.hash.slice(1));
  if (named?.matches("details.log")) named.open = true;
}
openNamed();
window.addEventListener("hashchange", openNamed);
