"use strict";
// One person's record as text, and how it leaves the page. Used wherever verdicts are given.
const ReviewRecord = (() => {
  // A YAML double-quoted scalar: JSON's own, with what YAML or an editor might trip over escaped as well.
  const quoted = (text) => JSON.stringify(text.replace(/[\ud800-\udbff](?![\udc00-\udfff])|(?<![\ud800-\udbff])[\udc00-\udfff]/g, "\ufffd"))
    .replace(/[\x7f-\x9f\xad\u061c\u200b-\u200f\u2028-\u202e\u2060-\u206f\ufeff\ufffe\uffff]/g,
      (letter) => "\\u" + letter.charCodeAt(0).toString(16).padStart(4, "0"));

  // `of` is the line that says what the record is of; an answer without a verdict is left out.
  function text(of, reviewer, answers, basis) {
    const verdicts = answers.filter((one) => one.verdict).map((one) =>
      `  - {item: ${quoted(one.item)}, verdict: ${one.verdict}, note: ${quoted(one.note.trim())}}`);
    const pieces = Object.entries(basis)
      .map(([piece, digest]) => [quoted(piece), quoted(digest)])
      // YAML takes a key of more than 1024 characters only in the explicit form
      .map(([piece, digest]) => (piece.length < 1000 ? `  ${piece}: ${digest}` : `  ? ${piece}\n  : ${digest}`));
    return [
      "format: 1", of, `reviewer: ${quoted(reviewer.trim())}`,
      `time: ${quoted(new Date().toISOString().replace(/\.\d+Z$/, "Z"))}`,
      verdicts.length ? "verdicts:" : "verdicts: []", ...verdicts,
      pieces.length ? "basis:" : "basis: {}", ...pieces, "",
    ].join("\n");
  }

  // Whether a browser keeps what it is handed can't be known here.
  function hand(text, name) {
    const link = document.createElement("a");
    link.href = URL.createObjectURL(new Blob([text], { type: "application/yaml" }));
    link.download = name;
    link.click();
    setTimeout(() => URL.revokeObjectURL(link.href), 60000);
  }

  return { quoted, text, hand };
})();
