"use strict";
// The review within the page. Nothing leaves the page but the record that the reviewer saves.
(() => {
  const packet = document.body.dataset.packet;
  const key = "cfgmigrate review " + packet;
  const cards = [...document.querySelectorAll("[data-item]")];
  const byId = (id) => document.getElementById(id);
  const reviewer = byId("reviewer");
  const message = byId("message");
  let saved = true;

  // Some browsers deny storage to a page that was opened from a file.
  const storage = (() => {
    try {
      localStorage.setItem(key + " test", "1");
      localStorage.removeItem(key + " test");
      return localStorage;
    } catch {
      return null;
    }
  })();

  const item = (card) => JSON.parse(card.dataset.item);
  const choice = (card) => card.querySelector("input[type=radio]:checked");
  const note = (card) => card.querySelector("textarea");
  const say = (text) => { message.textContent = text; };

  const answers = () => cards.map((card) => ({
    item: item(card), verdict: choice(card)?.value ?? "", note: note(card).value,
  }));

  function show(given) {
    for (const card of cards) {
      const answer = given.find((one) => one.item === item(card));
      if (!answer) continue;
      for (const radio of card.querySelectorAll("input[type=radio]")) radio.checked = radio.value === answer.verdict;
      note(card).value = answer.note;
    }
  }

  function progress() {
    const open = cards.filter((card) => !choice(card));
    byId("looked").textContent = `${cards.length - open.length} of ${cards.length} looked at`;
    byId("next").hidden = open.length === 0;
    for (const card of cards) card.querySelector(".withdraw").hidden = !choice(card);
    filter();
  }

  // The rest is what has no verdict yet. It is named before it is accepted: only a second touch does it.
  const rest = byId("rest");
  let sure = false;
  const without = () => cards.filter((card) => !choice(card));
  function unsure() {
    sure = false;
    rest.textContent = "Accept the rest";
    byId("rest-said").textContent = "";
  }

  function accept_rest() {
    const open = without();
    if (!sure) {
      const danger = open.filter((card) => card.querySelector(".mind")).map((card) => card.id);
      sure = open.length > 0;
      rest.textContent = sure ? `Yes, accept these ${open.length}` : "Accept the rest";
      byId("rest-said").textContent = sure
        ? `The rest is what has no verdict yet: ${open.map((card) => card.id).join(", ")}.` + (danger.length ? ` Dangerous: ${danger.join(", ")}.` : "")
        : "Nothing is open.";
      return;
    }
    for (const card of open) card.querySelector("input[value=accepted]").checked = true;
    remember();
    say(`${open.length} accepted.`);
  }

  // Which rows are shown; one whose verdict was just given stays until another filter is chosen.
  let shown = "";
  function filter(chosen) {
    const again = chosen !== undefined;
    if (again) shown = chosen;
    for (const button of document.querySelectorAll("[data-filter]")) button.setAttribute("aria-pressed", String(button.dataset.filter === shown));
    if (!again) return;
    for (const card of cards) {
      card.hidden = !(shown === "" || card.dataset.kind === shown || card.dataset.status === shown
        || (shown === "open" && !choice(card)) || (shown === "fresh" && card.querySelector(".fresh")));
    }
    for (const fold of document.querySelectorAll(".fold")) {
      fold.hidden = !fold.querySelector("[data-item]:not([hidden])");
      fold.open = true;
    }
  }

  function remember() {
    saved = false;
    unsure();
    progress();
    try {
      storage?.setItem(key, JSON.stringify({ reviewer: reviewer.value, answers: answers() }));
    } catch {
      say("This browser keeps nothing: save the record before you close the page.");
    }
  }

  function recall() {
    let kept = null;
    try {
      kept = JSON.parse(storage?.getItem(key) ?? "null");
    } catch { /* what can't be read is not a review */ }
    if (!kept || !Array.isArray(kept.answers)) return;
    reviewer.value = String(kept.reviewer ?? "");
    show(kept.answers);
  }

  const record = () => ReviewRecord.text(`packet: ${ReviewRecord.quoted(packet)}`, reviewer.value, answers(), JSON.parse(document.body.dataset.basis));

  const name = `review-${packet.slice(0, 8)}.yaml`;

  function named() {
    const there = reviewer.value.trim() !== "";
    if (there) reviewer.removeAttribute("aria-invalid");
    else {
      say("Your name is missing: a review counts only with the reviewer's name.");
      reviewer.setAttribute("aria-invalid", "true");
      reviewer.focus();
    }
    return there;
  }

  const file = () => new File([record()], name, { type: "text/plain" });

  async function share() {
    if (!named()) return;
    try {
      await navigator.share({ files: [file()], title: document.title });
      say("The record was shared.");
      saved = true;
    } catch (error) {
      if (error.name !== "AbortError") say("This browser does not share for a page: save or copy the record.");
    }
  }

  function save() {
    if (!named()) return;
    const text = record();
    ReviewRecord.hand(text, name);
    byId("record").value = text;
    byId("record-box").hidden = false;
    const open = cards.filter((card) => !choice(card)).length;
    // Whether a browser keeps what it is handed can't be known here.
    say(`Handed to the browser as ${name}: see that the file is there. If not, copy the record.`
      + (open ? ` ${open} of ${cards.length} still open: they count as not reviewed.` : ""));
    saved = true;
  }

  // Each item's digest: a verdict stands as long as its item is the same.
  const basis = JSON.parse(document.body.dataset.basis);
  const piece = (item) => [`change ${item}`, `by hand ${item}`, item].find((name) => name in basis);
  const same = (one, other) => one.trim().toLowerCase().replace(/\s+/g, " ") === other.trim().toLowerCase().replace(/\s+/g, " ");
  const counted = (many) => `${many} ${many === 1 ? "verdict" : "verdicts"}`;

  // Only the record's own shape is read, line by line; anything else in the file is left out.
  function read(text) {
    const field = (name) => {
      const found = text.match(new RegExp(`^${name}: ("(?:[^"\\\\]|\\\\.)*")\\s*$`, "m"));
      return found ? JSON.parse(found[1]) : "";
    };
    const line = /^ {2}- \{item: ("(?:[^"\\]|\\.)*"), verdict: (accepted|held|questioned), note: ("(?:[^"\\]|\\.)*")\}\s*$/gm;
    const given = [...text.matchAll(line)].map((found) => ({
      item: JSON.parse(found[1]), verdict: found[2], note: JSON.parse(found[3]),
    }));
    if (field("packet") === packet) return { reviewer: field("reviewer"), answers: given, left: 0 };
    const digest = /^ {2}(?:\? )?("(?:[^"\\]|\\.)*")(?:\n {2})?: ("(?:[^"\\]|\\.)*")\s*$/gm;
    const judged = new Map([...text.matchAll(digest)].map((found) => [JSON.parse(found[1]), JSON.parse(found[2])]));
    const kept = given.filter((one) => piece(one.item) && judged.get(piece(one.item)) === basis[piece(one.item)]);
    if (!kept.length) throw new Error("the record is of another packet, or of another state of this one");
    return { reviewer: field("reviewer"), answers: kept, left: given.length - kept.length };
  }

  // What another person said is shown in the rows, and is never taken for one's own.
  function beside(found) {
    for (const card of cards) {
      const answer = found.answers.find((one) => one.item === item(card));
      [...card.querySelectorAll(".beside")].find((one) => one.dataset.of === found.reviewer)?.remove();
      if (!answer) continue;
      const line = document.createElement("p");
      line.className = "beside";
      line.dataset.of = found.reviewer;
      line.textContent = `${found.reviewer}: ${answer.verdict}${answer.note ? `: ${answer.note}` : ""}`;
      card.querySelector(".line").after(line);
    }
  }

  function withdraw(card) {
    for (const radio of card.querySelectorAll("input[type=radio]")) radio.checked = false;
    remember();
    card.querySelector("input[type=radio]").focus();
  }

  async function goOn(event) {
    const file = event.target.files[0];
    if (!file) return;
    try {
      const found = read(await file.text());
      const left = found.left ? ` ${found.left} of what has changed since are open again.` : "";
      if (same(found.reviewer, reviewer.value)) {
        show(found.answers);
        remember();
        say(`Went on from ${file.name}: ${counted(found.answers.length)}.${left}`);
      } else {
        beside(found);
        say(`${found.reviewer}: ${counted(found.answers.length)} shown beside yours.${left}`
          + (reviewer.value.trim() ? "" : " If that is you, write your name and load the record again."));
      }
    } catch (error) {
      say(`Can't go on from ${file.name}: ${error.message}.`);
    }
    event.target.value = "";
  }

  function go(card) {
    if (!card) return;
    if (card.hidden) filter("");
    open_around(card);
    card.scrollIntoView({ block: "nearest" });
    card.focus({ preventScroll: true });
  }

  function open_around(part) {
    for (let around = part; around; around = around.parentElement) if (around instanceof HTMLDetailsElement) around.open = true;
  }

  function next() {
    go(cards.find((one) => !choice(one)));
  }

  // One key each, where no field takes it: n next, p previous, d details, a accepted, h held, q questioned, w withdraw.
  function key_down(event) {
    if (event.ctrlKey || event.metaKey || event.altKey || event.target.matches("input[type=text], textarea, input[type=file]")) return;
    const rows = cards.filter((card) => !card.hidden);
    const here = document.activeElement.closest("[data-item]");
    const at = rows.indexOf(here);
    if (event.key === "n") go(rows[at + 1]);
    else if (event.key === "p") go(rows[Math.max(at - 1, 0)]);
    else if (!here) return;
    else if (event.key === "w") withdraw(here);
    else if (event.key === "d") here.querySelector("details").toggleAttribute("open");
    else {
      const radio = [...here.querySelectorAll("input[type=radio]")].find((one) => one.value[0] === event.key);
      if (!radio) return;
      radio.checked = true;
      remember();
    }
    event.preventDefault();
  }

  async function copy() {
    if (!named()) return;
    byId("record").value = record();
    byId("record-box").hidden = false;
    try {
      await navigator.clipboard.writeText(byId("record").value);
      say("The record is copied: paste it into your answer.");
      saved = true;
    } catch {
      byId("record").select();
      say("This browser does not copy for a page: the record is marked below, copy it by hand.");
    }
  }

  // The verdicts as a person writes them in a mail, with the packet's line that tells which numbers are meant.
  async function as_mail() {
    if (!named()) return;
    const lines = cards.filter(choice).map((card) => {
      const why = note(card).value.trim().replace(/\s+/g, " ");
      return `${card.id} ${choice(card).value}${why ? `: ${why}` : ""}`;
    });
    byId("record").value = [`packet ${packet.slice(0, 8)}`, `name: ${reviewer.value.trim()}`, ...lines, ""].join("\n");
    byId("record-box").hidden = false;
    try {
      await navigator.clipboard.writeText(byId("record").value);
      say("Copied: paste it into a mail.");
    } catch {
      byId("record").select();
      say("This browser does not copy for a page: the mail is marked below, copy it by hand.");
    }
  }

  // Where a link within an item leads away, the way back to it stays in sight.
  const back = byId("back");
  let origin = null;
  function led_away(event) {
    const link = event.target.closest("a[href^='#']");
    const from = link?.closest("[data-item], .finding");
    if (!from) return;
    origin = from;
    back.textContent = `Back to ${from.id}`;
    back.hidden = false;
  }

  function go_back() {
    back.hidden = true;
    origin.scrollIntoView({ block: "start" });
    (origin.querySelector("summary") ?? origin).focus({ preventScroll: true });
  }

  // A note without a verdict would be lost: it is a question, and is shown as one.
  function noted(event) {
    const card = event.target.closest("[data-item]");
    if (!card || event.target.tagName !== "TEXTAREA" || choice(card) || !event.target.value.trim()) return;
    card.querySelector("input[value=questioned]").checked = true;
    say("A note without a verdict counts as a question.");
    remember();
  }

  // What a link leads to must be seen, also where it is folded away.
  function unfold() {
    const target = document.querySelector(":target");
    if (!target) return;
    open_around(target);
    const row = target.closest("[data-item]");
    if (row) row.querySelector("details").open = true;
    target.scrollIntoView({ block: "nearest" });
  }

  // A formula wider than the screen can be scrolled with the keyboard too.
  function reachable() {
    for (const box of document.querySelectorAll(".formula .typeset")) {
      if (box.scrollWidth > box.clientWidth) box.tabIndex = 0;
      else box.removeAttribute("tabindex");
    }
  }

  addEventListener("beforeunload", (event) => { if (!saved && !storage) event.preventDefault(); });
  addEventListener("resize", reachable);
  addEventListener("beforeprint", () => { for (const fold of document.querySelectorAll(".fold")) fold.open = true; });
  addEventListener("hashchange", unfold);
  document.addEventListener("input", (event) => { if (event.target.closest("[data-item], #review-form")) remember(); });
  document.addEventListener("change", noted);
  document.addEventListener("keydown", key_down);
  document.addEventListener("toggle", reachable, true);
  for (const button of document.querySelectorAll("[data-filter]")) button.addEventListener("click", () => filter(button.dataset.filter));
  byId("next").addEventListener("click", next);
  for (const card of cards) card.querySelector(".withdraw").addEventListener("click", () => withdraw(card));
  byId("copy").addEventListener("click", copy);
  byId("as-mail").addEventListener("click", as_mail);
  rest.addEventListener("click", accept_rest);
  back.addEventListener("click", go_back);
  document.addEventListener("click", led_away);
  byId("share").addEventListener("click", share);
  byId("share").hidden = !navigator.canShare?.({ files: [new File([""], name, { type: "text/plain" })] });
  byId("save").addEventListener("click", save);
  byId("go-on").addEventListener("change", goOn);

  for (const hidden of document.querySelectorAll("[data-needs-script]")) hidden.hidden = false;
  recall();
  progress();
  reachable();
  unfold();
  if (!storage) say("This browser keeps nothing between visits: save the record before you close the page.");
})();
