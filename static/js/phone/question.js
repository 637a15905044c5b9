// A question of a log knows its answer: `answer` reads it as a message carries it, and writes it back.

function number(text) {
  const typed = text.trim().replace(",", ".");
  return typed === "" ? null : Number(typed);
}

class LogQuestion extends HTMLElement {
  get label() {
    return this.querySelector("legend, label, summary").firstChild.textContent.trim();
  }

  get inputs() {
    return [...this.querySelectorAll(`[name="${this.dataset.question}"]`)];
  }

  get rows() {
    return [...this.querySelectorAll("[data-match]")];
  }

  // A question that is not asked is answered with nothing.
  get answer() {
    const { gives } = this.dataset;
    if (gives === "matches") return this.played();
    const told = this.hidden ? [] : this.inputs.filter((input) => input.checked || !/radio|checkbox/.test(input.type));
    const said = told.map((input) => input.value);
    if (gives === "list") return said;
    if (gives === "flag") return said.length > 0;
    if (gives === "number") return number(said[0] ?? "");
    return (said[0] ?? "").trim();
  }

  played() {
    const lines = this.rows.map((row) => ({
      won: { won: true, lost: false }[row.querySelector(":checked")?.value] ?? null,
      minutes: number(row.querySelector("[name$=minutes]").value),
      score: row.querySelector("[name$=score]").value.trim(),
    }));
    return lines.filter(({ won, minutes, score }) => won !== null || minutes !== null || score);
  }

  set answer(value) {
    const { gives } = this.dataset;
    this.rows.forEach((row, index) => {
      const match = value[index] ?? {};
      for (const radio of row.querySelectorAll("[type=radio]")) radio.checked = match.won === (radio.value === "won");
      row.querySelector("[name$=minutes]").value = match.minutes ?? "";
      row.querySelector("[name$=score]").value = match.score ?? "";
    });
    for (const input of this.inputs) {
      if (gives === "flag") input.checked = Boolean(value);
      else if (/radio|checkbox/.test(input.type)) input.checked = [value].flat().map(String).includes(input.value);
      else input.value = value ?? "";
    }
  }
}

customElements.define("log-question", LogQuestion);
