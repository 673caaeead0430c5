"use strict";
// Searching and sorting what a page lists. Without script the page shows everything, in the order that it has.
(() => {
  const find = document.getElementById("find");
  const found = document.getElementById("found");
  const items = [...document.querySelectorAll("table.listed tbody tr, article.listed")];

  // What an item says, without the words of its choices: "held" must not find everything that can be held.
  const texts = new Map(items.map((item) => {
    const copy = item.cloneNode(true);
    for (const choice of copy.querySelectorAll("select")) choice.remove();
    return [item, copy.textContent.toLowerCase()];
  }));

  // Every word that is asked for must be there, in any order.
  function search() {
    const words = find.value.toLowerCase().split(/\s+/).filter(Boolean);
    let many = 0;
    for (const item of items) {
      item.hidden = !words.every((word) => texts.get(item).includes(word));
      many += item.hidden ? 0 : 1;
    }
    // what a search finds must be seen, also where it is folded away
    if (words.length) {
      for (const fold of document.querySelectorAll("details[data-lists]")) {
        if (fold.querySelector(".listed:not([hidden]), .listed tbody tr:not([hidden])")) fold.open = true;
      }
    }
    found.textContent = words.length ? `${many} of ${items.length} shown` : "";
  }

  const compare = new Intl.Collator("en", { numeric: true }).compare;

  function sort(head, button) {
    const table = head.closest("table");
    const column = [...head.parentElement.children].indexOf(head);
    const down = head.getAttribute("aria-sort") === "ascending";
    for (const other of head.parentElement.children) other.removeAttribute("aria-sort");
    head.setAttribute("aria-sort", down ? "descending" : "ascending");
    const text = (row) => row.children[column].textContent.trim();
    const rows = [...table.tBodies[0].rows].sort((one, other) => compare(text(one), text(other)) * (down ? -1 : 1));
    table.tBodies[0].append(...rows);
    button.focus();
  }

  for (const head of document.querySelectorAll("table.listed thead th")) {
    const button = document.createElement("button");
    button.type = "button";
    button.className = "quiet";
    button.textContent = head.textContent;
    button.addEventListener("click", () => sort(head, button));
    head.replaceChildren(button);
  }
  for (const hidden of document.querySelectorAll("[data-needs-script]")) hidden.hidden = false;
  find.addEventListener("input", search);
})();
