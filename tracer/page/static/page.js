// What only a browser can do: mark controls at once, keep an entry when the connection drops, notice the other device.
"use strict";
document.documentElement.classList.add("js");
const live = document.getElementById("live"), job = document.body.dataset.job, KEPT = "tracer kept entries";
const say = text => { live.textContent = text; };
const kept = () => { try { return JSON.parse(localStorage.getItem(KEPT) || "[]"); } catch { return []; } };
const keep = list => { try { localStorage.setItem(KEPT, JSON.stringify(list)); } catch { /* a full or closed store */ } };
const drop = mark => keep(kept().filter(e => e.mark !== mark));

async function send(entry) {
  const answer = await fetch(entry.url, { method: "POST", body: new URLSearchParams(entry.body), redirect: "manual",
    headers: { Accept: "application/json" }, signal: AbortSignal.timeout(60000) });
  if (answer.ok || answer.status === 422) { drop(entry.mark); return answer.json(); }
  if (answer.status === 404 || answer.status === 413) { drop(entry.mark); return { error: "The job is not there any more, or this was too big. Nothing was recorded." }; }
  if (answer.status === 403 || answer.status === 429) return { error: "Kept on this device. The page was started anew: scan its code again, then it is sent." };
  throw new Error(String(answer.status));
}

// On the way to another page: whatever loads this one anew now would stop that. A download comes back from the way.
let left = -Infinity;
const leaving = () => performance.now() - left < 60000, leave = () => { left = performance.now(); };
window.addEventListener("beforeunload", leave);

let sending = false;
async function sendKept(then) {
  if (sending) return;
  sending = true;
  try {
    for (const entry of kept()) {
      const said = await send(entry);
      if (said.error) { say(said.error); return; }
      if (said.go && entry.mark === then) { leave(); location.assign(said.go); return; }
      if (said.go) say("What was kept on this device is recorded now.");
    }
  } catch {
    say("No connection. Your entry is kept on this device and sent when the connection is back.");
    setTimeout(() => { sendKept(then); }, 2000);
  } finally { sending = false; }
}

document.addEventListener("submit", event => {
  const form = event.target, button = event.submitter;
  if (form.method !== "post" || !form.elements.mark || form.enctype === "multipart/form-data" || button && button.hasAttribute("formaction") || /understood$/.test(form.action)) return;
  event.preventDefault();
  if (form.dataset.sent) return; // a double tap
  const body = [...new FormData(form, button)].map(([k, v]) => [k, String(v)]), mark = form.elements.mark.value;
  form.dataset.sent = "1";
  if (button) button.setAttribute("aria-busy", "true");
  say("working …");
  keep([...kept().filter(e => e.mark !== mark), { url: form.action, body, mark }]);
  sendKept(mark).then(() => { if (!kept().some(e => e.mark === mark)) { delete form.dataset.sent; if (button) button.removeAttribute("aria-busy"); } });
});
window.addEventListener("online", () => sendKept(""));
window.addEventListener("pageshow", event => { if (event.persisted) location.reload(); }); // the back button shows how it stands now
if (kept().length) sendKept("");

// Controls: one position of each; lamps that should shine now look lit.
const seen = document.getElementById("seen");
if (seen && job) {
  const states = () => new URLSearchParams([...seen.querySelectorAll("input[name=set]:checked")].map(i => ["set", i.value]));
  seen.addEventListener("change", async event => {
    if (event.target.name !== "set") return;
    const control = event.target.value.split("\t")[0];
    if (event.target.checked) for (const i of seen.querySelectorAll("input[name=set]")) if (i !== event.target && i.value.split("\t")[0] === control && control !== "engine") i.checked = false;
    try {
      const usual = await (await fetch(`/job/${job}/usual?${states()}`, { headers: { Accept: "application/json" } })).json();
      for (const lamp of seen.querySelectorAll(".lamp")) {
        const look = usual[lamp.dataset.lamp], lit = look && look !== "dark";
        lamp.classList.toggle("lit", Boolean(lit));
        lamp.querySelector(".usual").textContent = lit ? "lit" : "";
        lamp.querySelector(".hidden").textContent = `${lamp.dataset.lamp}, should be ${look}`;
        lamp.querySelector(".looks p").lastChild.textContent = ` should be ${look}. It is:`;
      }
    } catch { /* the marks can be set all the same */ }
  });
  seen.addEventListener("click", event => { // a tap on a look closes the choice; the arrow keys do not
    if (event.target.type === "radio" && event.target.name.startsWith("look:") && event.detail > 0) event.target.closest("details").open = false;
  });
}

for (const pad of document.querySelectorAll(".pad")) {
  const field = pad.querySelector("input[name=value]");
  pad.querySelector(".sign").addEventListener("click", () => { field.value = field.value.startsWith("-") ? field.value.slice(1) : `-${field.value}`; field.focus(); });
  const open = pad.querySelector(".open");
  if (open) open.addEventListener("click", () => { field.value = "open"; field.focus(); });
}

// The drawing: a finger moves it, two zoom it, a tap on a part says what is known about it.
for (const sheet of document.querySelectorAll(".drawing")) {
  const picture = sheet.querySelector("img"), places = JSON.parse(sheet.dataset.places || "[]");
  let pinch = null, drag = null, moved = false;
  const zoom = (width, x, y) => { // the point under the fingers stays there
    const box = picture.getBoundingClientRect(), fx = (x - box.left) / box.width, fy = (y - box.top) / box.height;
    const wide = Math.min(Math.max(width, sheet.clientWidth), 8 * sheet.clientWidth);
    picture.style.width = `${wide}px`;
    const now = picture.getBoundingClientRect();
    sheet.scrollLeft += now.left + fx * now.width - x;
    sheet.scrollTop += now.top + fy * now.height - y;
  };
  const apart = t => Math.hypot(t[0].clientX - t[1].clientX, t[0].clientY - t[1].clientY);
  sheet.addEventListener("touchstart", event => { if (event.touches.length === 2) pinch = { apart: apart(event.touches), width: picture.clientWidth }; }, { passive: true });
  sheet.addEventListener("touchmove", event => {
    if (!pinch || event.touches.length !== 2) return;
    event.preventDefault();
    const t = event.touches;
    zoom(pinch.width * apart(t) / pinch.apart, (t[0].clientX + t[1].clientX) / 2, (t[0].clientY + t[1].clientY) / 2);
  }, { passive: false });
  sheet.addEventListener("touchend", event => { if (event.touches.length < 2) pinch = null; });
  sheet.addEventListener("wheel", event => { if (event.ctrlKey) { event.preventDefault(); zoom(picture.clientWidth * Math.exp(-event.deltaY / 200), event.clientX, event.clientY); } }, { passive: false });
  sheet.addEventListener("pointerdown", event => { moved = false; if (event.pointerType === "mouse") drag = { x: event.clientX, y: event.clientY, left: sheet.scrollLeft, top: sheet.scrollTop }; });
  sheet.addEventListener("pointermove", event => {
    if (!drag) return;
    const dx = event.clientX - drag.x, dy = event.clientY - drag.y;
    moved = moved || Math.hypot(dx, dy) > 6;
    sheet.scrollLeft = drag.left - dx;
    sheet.scrollTop = drag.top - dy;
  });
  for (const end of ["pointerup", "pointerleave"]) sheet.addEventListener(end, () => { drag = null; });
  picture.draggable = false;
  picture.addEventListener("click", event => {
    if (moved) return;
    const box = picture.getBoundingClientRect(), x = event.clientX - box.left, y = event.clientY - box.top;
    let best = null;
    for (const [thing, left, top, right, bottom] of places) {
      const dx = Math.max(left * box.width - x, 0, x - right * box.width), dy = Math.max(top * box.height - y, 0, y - bottom * box.height);
      const off = Math.hypot(dx, dy), size = (right - left) * (bottom - top);
      if (off <= 24 && (!best || off < best.off - 1 || Math.abs(off - best.off) <= 1 && size < best.size)) best = { thing, off, size };
    }
    if (best) location.assign(`/job/${job}/at?point=${encodeURIComponent(best.thing)}`);
  });
}

// The other device: said here within two seconds, or shown at once where nothing is being typed.
if (job) {
  const touched = () => [...document.querySelectorAll("input:not([type=hidden]),select,textarea")].some(i => i.type === "checkbox" || i.type === "radio" ? i.checked !== i.defaultChecked : i.value !== (i.defaultValue ?? i.value));
  setInterval(async () => {
    const busy = () => document.hidden || sending || leaving() || kept().length;
    if (busy()) return;
    try {
      const now = (await (await fetch(`/job/${job}/stand`, { headers: { Accept: "application/json" }, signal: AbortSignal.timeout(1500) })).json()).stand;
      if (!busy() && String(now) !== document.body.dataset.stand) { // an entry of its own may have been sent meanwhile
        if (touched()) { say("Something was recorded on another device. Finish here, or load the page again."); document.body.dataset.stand = now; } else location.reload();
      }
    } catch { /* no connection: said when something is sent */ }
  }, 1500);
}
