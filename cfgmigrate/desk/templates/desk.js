"use strict";
// A form is sent without leaving the page, and the page's content is replaced by the answer. Without this script all of
// it works too, with a page each.
(() => {
  const main = () => document.getElementById("main");
  const over = "The desk does not answer: it has ended. Start it again with cfgmigrate desk; all that it kept is there.";

  let shownAt = location.pathname + location.search;

  function say(text) {
    const box = document.getElementById("said");
    const line = document.createElement("p");
    line.className = "note-bad";
    line.textContent = text;
    box.replaceChildren(line);
    box.scrollIntoView({ block: "nearest" });
  }

  // Whatever is open stays open, and the keyboard stays where it was.
  function replace(text, answer, focus) {
    const page = new DOMParser().parseFromString(text, "text/html");
    const found = page.getElementById("main");
    if (!found) return false;
    const shown = new Map([...main().querySelectorAll("[data-value]")].map((each) => [each.dataset.value, each.textContent]));
    const open = [...main().querySelectorAll("details[open][id]")].map((each) => each.id);
    main().replaceWith(document.adoptNode(found));
    document.title = page.title;
    // what moved by the answer is marked
    for (const each of found.querySelectorAll("[data-value]")) {
      if (shown.size && shown.get(each.dataset.value) !== each.textContent) each.classList.add("moved");
    }
    for (const id of open) document.getElementById(id)?.setAttribute("open", "");
    const url = new URL(answer.url);
    url.searchParams.delete("note");
    // an answer that only says what was wrong has no address of its own
    if (answer.redirected && url.hash !== location.hash || url.pathname !== location.pathname) history.pushState(null, "", url.pathname + url.search + url.hash);
    shownAt = location.pathname + location.search;
    const target = (focus && document.getElementById(focus)) || (url.hash && document.getElementById(decodeURIComponent(url.hash.slice(1)))) || main();
    target.focus({ preventScroll: target === main() });
    arrived(1000);
    return true;
  }

  async function send(event) {
    const form = event.target.closest("form[data-stay]");
    if (!form) return;
    event.preventDefault();
    const said = new URLSearchParams(new FormData(form, event.submitter));
    main().classList.add("busy");
    main().setAttribute("aria-busy", "true");
    try {
      const answer = await fetch(form.action, { method: "POST", body: said });
      if (!replace(await answer.text(), answer, form.dataset.focus)) say("That was refused. Load the page again.");
    } catch {
      say(over);
    } finally {
      main().classList.remove("busy");
      main().removeAttribute("aria-busy");
    }
  }

  // What takes longer to work out comes by itself once the page is there, and nobody is typing on.
  async function later(pause) {
    for (const box of document.querySelectorAll("[data-later]")) {
      const from = box.dataset.later;
      delete box.dataset.later;
      await new Promise((done) => setTimeout(done, pause));
      if (!box.isConnected) continue;
      try {
        const answer = await fetch(from);
        const found = new DOMParser().parseFromString(await answer.text(), "text/html").getElementById(box.id);
        if (found && box.isConnected) box.replaceChildren(...found.childNodes);
      } catch { /* the page says what it knows without it */ }
    }
  }

  // A form that leads on to a page: from the second second on it is told what the program is at, and it is not sent twice.
  function wait(event) {
    const form = event.target;
    if (event.defaultPrevented || form.method !== "post") return;
    if (form.dataset.sent) { event.preventDefault(); return; }
    form.dataset.sent = "yes";
    const box = document.getElementById("said");
    const began = Date.now();
    waiting = setInterval(async () => {
      let at = "";
      try { at = await (await fetch(document.body.dataset.working)).text(); } catch { return; }
      if (!waiting) return;
      const line = document.createElement("p");
      line.className = "note-done";
      line.textContent = `At work${at && ": "}${at} … ${Math.round((Date.now() - began) / 1000)} s`;
      box.replaceChildren(line);
      box.scrollIntoView({ block: "nearest" });
    }, 1000);
  }

  let waiting = 0;
  function waitedFor() {
    clearInterval(waiting);
    waiting = 0;
    for (const form of document.querySelectorAll("form[data-sent]")) delete form.dataset.sent;
  }

  // A file is read into its field here, so that the form stays text.
  async function load(event) {
    const into = event.target.dataset?.into;
    if (!into || !event.target.files[0]) return;
    document.getElementById(into).value = await event.target.files[0].text();
  }

  // Verdicts that were given on the review page, in this browser.
  function verdicts() {
    const form = document.querySelector("form[data-packet]");
    if (!form) return;
    let kept = null;
    try {
      kept = JSON.parse(localStorage.getItem("cfgmigrate review " + form.dataset.packet) ?? "null");
    } catch { return; }
    if (!kept || !Array.isArray(kept.answers)) return;
    let count = 0;
    for (const answer of kept.answers) {
      const row = [...form.querySelectorAll("[data-item]")].find((each) => each.dataset.item === answer.item);
      if (!row || !answer.verdict) continue;
      for (const radio of row.querySelectorAll("input[type=radio]")) radio.checked = radio.value === answer.verdict;
      row.querySelector("input[type=text]").value = String(answer.note ?? "");
      count += 1;
    }
    const name = form.querySelector("[name=reviewer]");
    if (!name.value) name.value = String(kept.reviewer ?? "");
    const told = form.querySelector("[data-taken]");
    if (count && told) told.textContent = `${count} verdicts from the review page are filled in. They count once you keep them.`;
  }

  function arrived(pause = 0) {
    verdicts();
    later(pause);
  }

  document.addEventListener("submit", send);
  document.addEventListener("submit", wait);
  document.addEventListener("change", load);
  addEventListener("pageshow", verdicts);
  addEventListener("pageshow", waitedFor);
  // a link within the page changes the address too, and loads nothing
  addEventListener("popstate", () => { if (location.pathname + location.search !== shownAt) location.reload(); });
  arrived();
})();
