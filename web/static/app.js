// Saves pressing a button: pages work without it. The page's own address always
// tells the whole question, so reload, bookmark and back keep working.
"use strict";
document.documentElement.classList.add("scripted");

// Questions: a changed word asks again.
for (const form of document.querySelectorAll("form.ask[data-live]")) {
  form.addEventListener("change", () => {
    const q = new URLSearchParams(new FormData(form));
    for (const [k, v] of [...q]) if (v === "" || (k === "set" && v === "0")) q.delete(k);
    location.assign(form.action.split("?")[0] + "?" + q);
  });
}

// fetchPart replaces a part of the page by the server's answer. A later call
// overtakes an earlier one.
let running;
async function fetchPart(address, target, part) {
  if (running) running.abort();
  const mine = running = new AbortController();
  try {
    const open = [...target.querySelectorAll("details[open][data-key]")].map(d => d.dataset.key);
    const answer = await fetch(address + (address.includes("?") ? "&" : "?") + "part=" + part + (open.length ? "&open=" + open : ""), { signal: mine.signal, headers: { Accept: "text/html" } });
    if (answer.status >= 500) return false;
    const text = await answer.text();
    if (mine.signal.aborted) return false;
    target.innerHTML = text;
    for (const key of open) target.querySelector(`details[data-key="${key}"]`)?.setAttribute("open", "");
    history.replaceState(null, "", address);
    return true;
  } catch (e) {
    if (e.name !== "AbortError") throw e;
    return false;
  }
}

// The slider counts positions; the page lists their leads. Every number and the
// drawings follow.
const answer = document.getElementById("answer");
if (answer) {
  const ask = lead => {
    const form = answer.querySelector("form.slide");
    const q = new URLSearchParams(new FormData(form));
    for (const [k, v] of [...q]) if (v === "" || (k === "set" && v === "0")) q.delete(k);
    q.delete("stop");
    q.set("lead", lead);
    return fetchPart("/pairing?" + q, answer, "answer");
  };
  let wanted = null, busy = false;
  const stops = range => range.dataset.stops.split(" ").map(Number);
  const follow = async k => {
    wanted = k;
    const range = answer.querySelector("#lead"), out = answer.querySelector("form.slide output");
    const label = range.dataset.labels.split("|")[k];
    range.setAttribute("aria-valuetext", label);
    if (out) out.textContent = label;
    if (busy) return;
    busy = true;
    while (wanted !== null) {
      const next = stops(answer.querySelector("#lead"))[wanted];
      wanted = null;
      const held = document.activeElement?.id === "lead";
      if (await ask(next) && held) answer.querySelector("#lead")?.focus();
    }
    busy = false;
  };
  answer.addEventListener("input", e => { if (e.target.id === "lead") follow(Number(e.target.value)); });
  answer.addEventListener("submit", e => { if (e.target.matches("form.slide")) { e.preventDefault(); follow(Number(answer.querySelector("#lead").value)); } });

  // A folded drawing that a move of the slider left out is fetched when opened.
  answer.addEventListener("toggle", e => {
    if (e.target.matches?.("details[open][data-key]") && e.target.querySelector(".drawing-box:empty")) fetchPart(location.pathname + location.search, answer, "answer");
  }, true);

  // Dragging the fifth wheel on the drawing. The drawing says how many
  // millimetres one of its units is, and which way the lead grows.
  let drag = null;
  answer.addEventListener("pointerdown", e => {
    const grip = e.target.closest("[data-lead-mm]"), range = answer.querySelector("#lead");
    if (!grip || !range) return;
    const svg = grip.ownerSVGElement, box = svg.getBoundingClientRect();
    const all = stops(range);
    drag = { x: e.clientX, all, lead: all[range.value], mm: svg.viewBox.baseVal.width / box.width * Number(svg.dataset.scale), sign: Number(grip.dataset.leadSign || -1) };
    answer.setPointerCapture(e.pointerId);
    e.preventDefault();
  });
  answer.addEventListener("pointermove", e => {
    if (!drag) return;
    const raw = drag.lead + drag.sign * (e.clientX - drag.x) * drag.mm;
    const near = drag.all.reduce((best, lead, k) => Math.abs(lead - raw) < Math.abs(drag.all[best] - raw) ? k : best, 0);
    const range = answer.querySelector("#lead");
    if (range && Number(range.value) !== near) { range.value = near; follow(near); }
  });
  for (const end of ["pointerup", "pointercancel"]) answer.addEventListener(end, () => { drag = null; });
}

// Formula pages: the result follows what is typed.
const calc = document.querySelector("form.calc-form");
if (calc) {
  let timer;
  calc.addEventListener("input", () => {
    clearTimeout(timer);
    timer = setTimeout(() => {
      const q = new URLSearchParams();
      for (const [k, v] of new FormData(calc)) if (v !== "") q.append(k, v);
      fetchPart(calc.action.split("?")[0] + "?" + q, document.getElementById("result"), "result");
    }, 120);
  });
}

// The one field: the key / leads there from everywhere but where text is typed.
const find = document.getElementById("find");
if (find) {
  document.addEventListener("keydown", e => {
    if (e.key !== "/" || e.ctrlKey || e.metaKey || e.altKey || e.target.closest?.("input, textarea, select, [contenteditable]")) return;
    e.preventDefault();
    find.focus();
    find.select();
  });
  // On the page of what was found, it follows what is typed.
  const found = document.getElementById("found");
  let timer;
  if (found) find.addEventListener("input", () => {
    clearTimeout(timer);
    timer = setTimeout(() => fetchPart("/find?" + new URLSearchParams({ q: find.value }), found, "found"), 120);
  });
}

// A form that was changed is not left by mistake.
const form = document.querySelector("form.form");
if (form) {
  const before = new URLSearchParams(new FormData(form)).toString();
  let sending = false;
  form.addEventListener("submit", () => { sending = true; });
  addEventListener("beforeunload", e => {
    if (!sending && new URLSearchParams(new FormData(form)).toString() !== before) e.preventDefault();
  });
}
