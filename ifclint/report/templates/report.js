"use strict";
// Narrow the findings by words and severity; light up a finding where the pointer is on its mark.
const form = document.getElementById("filter");
const findings = [...document.querySelectorAll(".card, .row")];
const folds = [...document.querySelectorAll(".fold")];
const groups = [...document.querySelectorAll(".system, .storey")];

function narrow() {
  const words = form.words.value.toLowerCase().split(/\s+/).filter(Boolean);
  const severity = form.severity.value;
  let shown = 0;
  for (const finding of findings) {
    const text = finding.textContent.toLowerCase();
    const fits = words.every((word) => text.includes(word));
    finding.hidden = !fits || (severity !== "" && finding.dataset.severity !== severity);
    shown += finding.hidden ? 0 : 1;
  }
  for (const group of groups) {
    group.hidden = !group.querySelector(".card:not([hidden]), .row:not([hidden])");
  }
  const all = words.length === 0 && severity === "";
  for (const fold of all ? [] : folds) {
    if (fold.querySelector(".row:not([hidden])")) fold.open = true;
  }
  form.querySelector("output").textContent = all ? "" : `${shown} of ${findings.length} shown`;
  const narrowed = document.getElementById("narrowed");
  narrowed.hidden = all;
  narrowed.querySelector("span").textContent = [form.words.value, severity].filter(Boolean).join(", ");
  const left = findings.filter((finding) => finding.hidden).map((finding) => finding.querySelector(".number")?.lastChild.textContent);
  narrowed.querySelector("output").textContent = all ? "" : `Left out: ${ranges(left)}.`;
  for (const steps of document.querySelectorAll(".steps")) {
    steps.hidden = document.getElementById(steps.dataset.of)?.hidden ?? false;
  }
}

// "1-4, 7": the numbers left out, as they are read.
function ranges(numbers) {
  const runs = [];
  for (const number of [...new Set(numbers.map(Number))].sort((a, b) => a - b)) {
    const last = runs.at(-1);
    if (last && last[1] === number - 1) last[1] = number;
    else runs.push([number, number]);
  }
  return runs.map(([a, b]) => (a === b ? a : `${a}-${b}`)).join(", ");
}

function light(event) {
  const on = event.type === "mouseover" || event.type === "focusin";
  const link = event.target.closest("a.flag");
  if (link) document.getElementById(link.getAttribute("href").slice(1))?.classList.toggle("lit", on);
  const finding = event.target.closest(".card, .row");
  for (const drawn of finding?.querySelectorAll(".drawn") ?? []) {
    document.getElementById(drawn.getAttribute("href").slice(1))?.classList.toggle("lit", on);
  }
}

function reveal() {
  const target = document.getElementById(location.hash.slice(1));
  if (target?.closest("[hidden]")) {
    form.reset();
    narrow();
  }
  const shut = target?.closest("details:not([open])");
  if (shut) shut.open = true;
  target?.scrollIntoView();
}

// Browsers that print what is folded as folded.
let folded = [];
window.addEventListener("beforeprint", () => {
  folded = [...document.querySelectorAll("details:not([open])")];
  for (const fold of folded) fold.open = true;
});
window.addEventListener("afterprint", () => {
  for (const fold of folded) fold.open = false;
});

document.getElementById("contents").open = matchMedia("(min-width: 40rem)").matches;
form.hidden = findings.length < 2;
form.addEventListener("input", narrow);
form.addEventListener("submit", (event) => event.preventDefault());
window.addEventListener("hashchange", reveal);
window.addEventListener("load", reveal);
for (const kind of ["mouseover", "mouseout", "focusin", "focusout"]) {
  document.addEventListener(kind, light);
}
