"use strict";
// One box at a time; the answers are kept on this phone and stand below as one line for the job.
(() => {
  const head = document.body.dataset.head, KEY = "tracer sheet " + head, by = id => document.getElementById(id);
  const line = by("line"), live = by("live");
  let taken = [];
  try { taken = JSON.parse(localStorage.getItem(KEY) || "[]"); } catch { taken = []; }
  const keep = () => { try { localStorage.setItem(KEY, JSON.stringify(taken)); } catch { live.textContent = "This browser keeps nothing: do not close the page before the line is copied."; } };
  const sum = text => { // CRC-32
    let c = -1;
    for (const b of new TextEncoder().encode(text)) { c ^= b; for (let k = 0; k < 8; k++) c = c & 1 ? (c >>> 1) ^ 0xEDB88320 : c >>> 1; }
    return ((c ^ -1) >>> 0).toString(16).padStart(8, "0");
  };
  const escaped = text => text.replace(/[;=&%\n\r\t]/g, s => encodeURIComponent(s));
  const show = () => {
    const last = taken[taken.length - 1], at = last ? last.to : "1";
    for (const box of document.querySelectorAll(".box")) box.classList.toggle("now", box.id === (at === "0" ? "end" : "b" + at));
    if (at === "0") by("ended").textContent = last.end + " Take the answers back to the job.";
    by("taken").textContent = "";
    for (const t of taken) { const p = document.createElement("p"); p.textContent = `${t.title}: ${t.says}`; by("taken").append(p); }
    const said = [head, ...taken.filter(t => t.field).map(t => t.field)].join(";");
    line.value = taken.some(t => t.field) ? `${said};${sum(said)}` : "";
    by("undo").disabled = !taken.length;
    by("copy").disabled = !line.value;
  };
  const take = (box, way, field, says) => {
    const title = box.querySelector("h2").textContent.replace(/\s+/g, " ").trim();
    taken.push({ title, says, field, to: way.dataset.to, end: way.dataset.end });
    keep(); show(); scrollTo(0, 0);
    live.textContent = "kept on this phone";
  };
  for (const box of document.querySelectorAll(".box")) {
    const ways = [...box.querySelectorAll(".ways a")];
    for (const way of ways) way.addEventListener("click", event => { event.preventDefault(); take(box, way, way.dataset.field, way.dataset.says); });
    if (!box.dataset.prefix) continue;
    const pad = document.createElement("form"), field = document.createElement("input"), unit = box.dataset.unit;
    pad.className = "pad";
    field.inputMode = "decimal"; field.placeholder = `the number, in ${unit}`; field.setAttribute("aria-label", `reading in ${unit}`);
    const button = (text, label, does) => { const b = document.createElement("button"); b.type = does ? "button" : "submit"; b.textContent = text; b.setAttribute("aria-label", label); if (does) b.addEventListener("click", does); return b; };
    pad.append(field, button("±", "other sign", () => { field.value = field.value.startsWith("-") ? field.value.slice(1) : "-" + field.value; field.focus(); }));
    if (unit === "Ω") pad.append(button("open", "meter shows open", () => { field.value = "open"; }));
    pad.append(button("go on", "go on with this reading"));
    pad.addEventListener("submit", event => {
      event.preventDefault();
      const typed = field.value.trim().replace(",", "."), open = /^(open|ol|o\.l\.?)$/i.test(typed), turn = box.dataset.turn;
      let number = open ? Infinity : Number(typed);
      if (turn === "-" && number > 0 && !typed.startsWith("+") || turn === "+" && number < -1) number = -number; // as the job takes it
      if (!typed || Number.isNaN(number) || open && unit !== "Ω") { live.textContent = "Type the number that the meter shows."; field.focus(); return; }
      const fits = w => number >= (w.dataset.low === "" ? -Infinity : Number(w.dataset.low)) && number <= (w.dataset.high === "" ? Infinity : Number(w.dataset.high));
      const other = ways.find(w => w.dataset.says === "something else");
      const way = ways.find(w => w.dataset.low !== undefined && fits(w)) || other;
      const says = open ? "open" : `${typed} ${unit}`;
      take(box, way, box.dataset.prefix + escaped(says), says);
    });
    box.querySelector(".ways").before(pad);
  }
  by("undo").addEventListener("click", () => { taken.pop(); keep(); show(); });
  by("copy").addEventListener("click", async () => {
    line.select();
    try { await navigator.clipboard.writeText(line.value); live.textContent = "copied"; } catch { live.textContent = document.execCommand("copy") ? "copied" : "marked: copy it by hand"; }
  });
  document.documentElement.classList.add("js");
  show();
})();
