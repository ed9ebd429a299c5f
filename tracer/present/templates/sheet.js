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
  // The line as a code to scan, after ISO/IEC 18004: bytes, level L, mask 0, versions 1 to 25.
  const PER_BLOCK = [7, 10, 15, 20, 26, 18, 20, 24, 30, 18, 20, 24, 26, 30, 22, 24, 28, 30, 28, 28, 28, 28, 30, 30, 26];
  const BLOCKS = [1, 1, 1, 1, 1, 2, 2, 2, 2, 4, 4, 4, 4, 4, 6, 6, 6, 6, 7, 8, 8, 9, 9, 10, 12];
  const places = v => { // of the alignment patterns
    if (v === 1) return [];
    const count = Math.floor(v / 7) + 2, step = Math.floor((v * 8 + count * 3 + 5) / (count * 4 - 4)) * 2;
    return [6, ...Array.from({ length: count - 1 }, (_, k) => v * 4 + 10 - step * (count - 2 - k))];
  };
  const raw = v => { // codewords of a version, data and correction
    const n = places(v).length, bits = (16 * v + 128) * v + 64 - (v > 1 ? (25 * n - 10) * n - 55 : 0) - (v > 6 ? 36 : 0);
    return Math.floor(bits / 8);
  };
  const times = (a, b) => { let out = 0; for (let k = 7; k >= 0; k--) { out = out << 1 ^ (out >>> 7) * 0x11D; out ^= (b >>> k & 1) * a; } return out; };
  const correction = (data, degree) => {
    let root = 1; const factors = new Array(degree).fill(0); factors[degree - 1] = 1;
    for (let k = 0; k < degree; k++) { for (let j = 0; j < degree; j++) factors[j] = times(factors[j], root) ^ (factors[j + 1] || 0); root = times(root, 2); }
    const rest = new Array(degree).fill(0);
    for (const b of data) { const first = b ^ rest.shift(); rest.push(0); factors.forEach((f, k) => { rest[k] ^= times(f, first); }); }
    return rest;
  };
  const codewords = (bytes, v) => {
    const data = raw(v) - PER_BLOCK[v - 1] * BLOCKS[v - 1], bits = [];
    const put = (value, length) => { for (let k = length - 1; k >= 0; k--) bits.push(value >>> k & 1); };
    put(4, 4); put(bytes.length, v < 10 ? 8 : 16); for (const b of bytes) put(b, 8);
    put(0, Math.min(4, data * 8 - bits.length)); put(0, (8 - bits.length % 8) % 8);
    for (let pad = 0xEC; bits.length < data * 8; pad ^= 0xEC ^ 0x11) put(pad, 8);
    const all = Array.from({ length: data }, (_, k) => bits.slice(8 * k, 8 * k + 8).reduce((a, b) => a << 1 | b, 0));
    const short = Math.floor(data / BLOCKS[v - 1]), longer = data % BLOCKS[v - 1], blocks = [];
    for (let k = 0, at = 0; k < BLOCKS[v - 1]; k++) { const n = short + (k >= BLOCKS[v - 1] - longer ? 1 : 0); blocks.push(all.slice(at, at += n)); }
    const checks = blocks.map(b => correction(b, PER_BLOCK[v - 1])), out = [];
    for (let k = 0; k <= short; k++) for (const b of blocks) if (k < b.length) out.push(b[k]);
    for (let k = 0; k < PER_BLOCK[v - 1]; k++) for (const c of checks) out.push(c[k]);
    return out;
  };
  const code = text => { // rows of 0 and 1; null where the line is too long for it
    const bytes = new TextEncoder().encode(text);
    const v = BLOCKS.findIndex((n, k) => bytes.length + (k < 9 ? 2 : 3) <= raw(k + 1) - PER_BLOCK[k] * n) + 1;
    if (!v) return null;
    const size = 17 + 4 * v, dark = Array.from({ length: size }, () => new Array(size).fill(null));
    const set = (x, y, on) => { if (x >= 0 && y >= 0 && x < size && y < size) dark[y][x] = +on; };
    const square = (cx, cy, r, rings) => { for (let y = -r; y <= r; y++) for (let x = -r; x <= r; x++) set(cx + x, cy + y, rings(Math.max(Math.abs(x), Math.abs(y)))); };
    for (let k = 0; k < size; k++) { set(6, k, k % 2 === 0); set(k, 6, k % 2 === 0); }
    for (const [x, y] of [[3, 3], [size - 4, 3], [3, size - 4]]) square(x, y, 4, d => d !== 2 && d !== 4);
    const at = places(v), end = at.length - 1;
    at.forEach((y, i) => at.forEach((x, j) => { if (!(i === 0 && j === 0 || i === 0 && j === end || i === end && j === 0)) square(x, y, 2, d => d !== 1); }));
    const format = 0x77C4; // level L, mask 0, with its own correction
    for (let k = 0; k < 15; k++) {
      const on = format >>> k & 1;
      if (k < 6) set(8, k, on); else if (k < 8) set(8, k + 1, on); else set(k === 8 ? 7 : 14 - k, 8, on);
      if (k < 8) set(size - 1 - k, 8, on); else set(8, size - 15 + k, on);
    }
    set(8, size - 8, 1);
    if (v > 6) {
      let rest = v; for (let k = 0; k < 12; k++) rest = rest << 1 ^ (rest >>> 11) * 0x1F25;
      for (let k = 0, all = v << 12 | rest; k < 18; k++) { const a = size - 11 + k % 3, b = Math.floor(k / 3); set(a, b, all >>> k & 1); set(b, a, all >>> k & 1); }
    }
    const words = codewords(bytes, v); let bit = 0;
    for (let right = size - 1; right >= 1; right -= 2) {
      if (right === 6) right = 5;
      for (let k = 0; k < size; k++) for (let j = 0; j < 2; j++) {
        const x = right - j, y = (right + 1 & 2) === 0 ? size - 1 - k : k;
        if (dark[y][x] !== null) continue;
        const on = bit < words.length * 8 ? words[bit >>> 3] >>> 7 - (bit & 7) & 1 : 0; bit++;
        dark[y][x] = on ^ +((x + y) % 2 === 0);
      }
    }
    return dark;
  };
  const draw = text => {
    const rows = text && code(text), place = by("code"), size = rows ? rows.length + 8 : 8;
    place.hidden = !rows;
    place.querySelector("svg").setAttribute("viewBox", `0 0 ${size} ${size}`);
    place.querySelector("path").setAttribute("d", (rows || []).flatMap((row, y) => row.map((on, x) => on ? `M${x + 4} ${y + 4}h1v1h-1z` : "")).join(""));
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
    draw(line.value);
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
