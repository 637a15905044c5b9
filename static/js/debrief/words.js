// Notes are kept while they are typed: on this device at once, on the server a moment later. What
// the server has not taken yet is in the fields again when the page is opened anew.

const WAIT_MS = 800;
const AGAIN_MS = 15_000;
const person = document.body.dataset.person;
const say = globalThis.gettext ?? ((text) => text);

class Words {
  constructor(form) {
    this.form = form;
    this.name = `meeting ${person} ${form.getAttribute("action")}`;
    this.fields = [...form.querySelectorAll("textarea")];
    this.dirty = new Set();
    this.sent = null;
    this.timer = 0;
    this.restore();
    form.addEventListener("input", ({ target }) => this.typed(target));
    form.addEventListener("htmx:afterRequest", ({ detail }) => this.answered(detail.xhr.status));
    window.addEventListener("online", () => this.send());
    document.addEventListener("visibilitychange", () => document.hidden && this.send());
  }

  seen(field) {
    return this.form.elements[`${field.name}_seen`];
  }

  say(text) {
    const line = this.form.querySelector("[data-kept]");
    if (line) line.textContent = text;
  }

  // A copy carries what it was typed over, so that the server can tell who was first.
  restore() {
    let copy = {};
    try {
      copy = JSON.parse(localStorage.getItem(this.name)) ?? {};
    } catch {
      return;
    }
    for (const field of this.fields) {
      const kept = copy[field.name];
      if (!kept || kept.text === field.value) continue;
      field.value = kept.text;
      this.seen(field).value = kept.seen;
      this.dirty.add(field);
    }
    if (this.dirty.size) this.send();
    else if (!this.form.querySelector(".clash")) this.keep();
  }

  keep() {
    const copy = {};
    for (const field of this.dirty) copy[field.name] = { text: field.value, seen: this.seen(field).value };
    try {
      if (this.dirty.size) localStorage.setItem(this.name, JSON.stringify(copy));
      else localStorage.removeItem(this.name);
    } catch {
      // A device without room keeps no copy; the server still does.
    }
  }

  typed(field) {
    if (!this.fields.includes(field)) return;
    this.dirty.add(field);
    this.keep();
    this.say(say("Typing …"));
    this.later(WAIT_MS);
  }

  later(milliseconds) {
    clearTimeout(this.timer);
    this.timer = setTimeout(() => this.send(), milliseconds);
  }

  // One at a time; while two texts clash the writer decides, not a timer.
  send() {
    clearTimeout(this.timer);
    if (this.sent || !this.dirty.size || this.form.querySelector(".clash")) return;
    this.sent = new Map([...this.dirty].map((field) => [field, field.value]));
    this.say(say("Saving …"));
    this.form.dispatchEvent(new Event("keep-words"));
  }

  answered(status) {
    const sent = this.sent ?? new Map();
    this.sent = null;
    if (status === 200) {
      for (const [field, text] of sent) if (field.value === text) this.dirty.delete(field);
    }
    this.keep();
    if (status === 409 || status === 422) return;
    if (status !== 200) {
      this.say(say("Not saved on the server yet. It is kept on this device and sent again by itself."));
      this.later(AGAIN_MS);
    } else if (this.dirty.size) {
      this.later(WAIT_MS);
    }
  }
}

// The module runs after htmx is there, but maybe before htmx has looked at the form.
addEventListener("load", () => {
  for (const form of document.querySelectorAll("form[data-keeps]")) new Words(form);
});
