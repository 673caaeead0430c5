"use strict";
// One verdict for a whole group. Nothing is kept but the record that the reviewer saves.
(() => {
  const reviewer = document.getElementById("reviewer");
  const forms = [...document.querySelectorAll("[data-group]")];
  const unsaved = new Set();

  const answers = (form) => [...form.querySelectorAll("[data-item]")].map((row) => ({
    item: JSON.parse(row.dataset.item),
    verdict: row.querySelector("select").value,
    note: row.querySelector("input").value,
  }));

  function save(form) {
    const say = (text) => { form.querySelector("[role=status]").textContent = text; };
    const given = answers(form);
    if (!reviewer.value.trim()) {
      say("Your name is missing: a review counts only with the reviewer's name.");
      reviewer.setAttribute("aria-invalid", "true");
      reviewer.focus();
      return;
    }
    reviewer.removeAttribute("aria-invalid");
    // A note without a verdict would be lost: it is a question.
    for (const one of given) if (!one.verdict && one.note.trim()) one.verdict = "questioned";
    const many = given.filter((one) => one.verdict).length;
    if (!many) {
      say("No verdict is given yet.");
      return;
    }
    const machines = JSON.parse(form.dataset.machines).map(ReviewRecord.quoted).join(", ");
    const text = ReviewRecord.text(`group: [${machines}]`, reviewer.value, given, JSON.parse(form.dataset.basis));
    const name = `review-group-${form.dataset.group}.yaml`;
    ReviewRecord.hand(text, name);
    const box = form.querySelector("textarea");
    box.value = text;
    box.closest("label").hidden = false;
    unsaved.delete(form);
    say(`Handed to the browser as ${name}: see that the file is there. If not, copy the record.`
      + (many < given.length ? ` ${given.length - many} of ${given.length} still open: they count as not reviewed.` : ""));
  }

  for (const form of forms) {
    form.addEventListener("input", (event) => { if (event.target.closest("[data-item]")) unsaved.add(form); });
    form.querySelector("button.save").addEventListener("click", () => save(form));
  }
  addEventListener("beforeunload", (event) => { if (unsaved.size) event.preventDefault(); });
})();
