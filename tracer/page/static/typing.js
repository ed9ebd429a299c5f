// While somebody types a harness: findings at their lines, what may come next, the last good state. Without it the
// buttons do the same by loading the page.
"use strict";
(() => {
  const form = document.getElementById("typing"), text = document.getElementById("text");
  const lines = document.getElementById("lines"), offered = document.getElementById("offered");
  let known = JSON.parse(form.dataset.completions), wrong = {}, asked = 0, timer = 0, saved = text.value;
  for (const li of document.querySelectorAll("#findings [data-line]")) wrong[li.dataset.line] = li.className;

  const number = () => {
    const count = text.value.split("\n").length;
    lines.textContent = "";
    for (let n = 1; n <= count; n++) {
      const mark = document.createElement("span");
      mark.textContent = (wrong[n] ? "✕ " : "") + n + "\n";
      if (wrong[n]) mark.className = wrong[n];
      lines.append(mark);
    }
    lines.scrollTop = text.scrollTop;
  };
  const goTo = line => {
    const before = text.value.split("\n").slice(0, line - 1).join("\n").length + (line > 1 ? 1 : 0);
    text.focus();
    text.setSelectionRange(before, before + (text.value.split("\n")[line - 1] || "").length);
    text.scrollTop = Math.max(0, (line - 4) * text.scrollHeight / text.value.split("\n").length);
  };
  const show = said => {
    wrong = {};
    const list = document.getElementById("findings");
    list.textContent = "";
    for (const f of said.findings) {
      if (f.line && wrong[f.line] !== "error") wrong[f.line] = f.severity;
      const li = document.createElement("li"), b = document.createElement("b");
      li.className = f.severity;
      if (f.line) li.dataset.line = f.line;
      b.textContent = f.severity + (f.line ? ", line " + f.line : "");
      li.append(b, f.message + (f.hint ? " (" + f.hint + ")" : ""));
      list.append(li);
    }
    if (!said.findings.length) { const li = document.createElement("li"); li.textContent = "No errors or warnings"; list.append(li); }
    if (said.healthy) document.getElementById("healthy").textContent = said.healthy;
    form.elements.stamp.value = said.stamp;
    known = said.completions;
    const picture = document.getElementById("picture"), img = picture.querySelector("img");
    document.getElementById("good").hidden = picture.hidden = !said.good;
    const source = "/typing/drawing.svg?file=" + encodeURIComponent(form.elements.file.value) + "&of=" + said.good;
    if (said.good && !img.src.endsWith(source)) img.src = source;
    const says = document.getElementById("says");
    says.hidden = !said.says;
    says.textContent = said.says;
    number();
  };
  const post = async what => {
    const mine = ++asked, body = new URLSearchParams(new FormData(form));
    body.set("what", what);
    try {
      const answer = await fetch("/typing", { method: "POST", body, headers: { Accept: "application/json" }, signal: AbortSignal.timeout(60000) });
      if (answer.status !== 200 && answer.status !== 409) throw new Error(String(answer.status));
      const said = await answer.json();
      if (what === "save" && answer.status === 200) saved = body.get("text");
      if (mine === asked || what === "save") show(said);
    } catch {
      const says = document.getElementById("says");
      says.hidden = false;
      says.textContent = "No connection: what you type is kept on this page only.";
    }
  };

  const section = () => {
    const above = text.value.slice(0, text.selectionStart).split("\n");
    for (let n = above.length - 1; n >= 0; n--) {
      const found = /^([a-z][a-z ]*):/.exec(above[n]);
      if (found) return [found[1], above[above.length - 1], n === above.length - 1];
    }
    return ["", above[above.length - 1], true];
  };
  const choices = () => {
    const [where, line, first] = section(), word = /[^,{:>\[]*$/.exec(line)[0].trimStart(), kind = /kind:\s*([a-z ]+?)\s*[,}]/.exec(line);
    if (/(^|[^\w])kind:\s*[a-z ]*$/.test(line)) return [Object.keys(known.kinds), word];
    if (/control:\s*[^,}]*$/.test(line)) return [known.controls, word];
    if (/earth at:\s*[^,}]*$/.test(line)) return [known.earths, word];
    if (where === "wires" && (/run:\s*[^,}]*$/.test(line) || /^\s*- [^{]*$/.test(line))) return [known.points, word];
    if (kind && known.kinds[kind[1]]) return [known.kinds[kind[1]], word];
    if (first && /^[a-z ]*$/.test(line)) return [known.top, word];
    return /[{,]\s*[a-z ]*$/.test(line) ? [known.sections[where] || [], word] : [[], word];
  };
  const offer = () => {
    const [list, word] = choices();
    offered.textContent = "";
    for (const one of list.filter(x => x.startsWith(word) && x !== word).slice(0, 9)) {
      const button = document.createElement("button");
      button.type = "button";
      button.textContent = one;
      button.addEventListener("click", () => {
        text.focus();
        text.setRangeText(one.slice(word.length), text.selectionStart, text.selectionStart, "end");
        changed();
      });
      offered.append(button);
    }
  };
  const changed = () => {
    number();
    offer();
    clearTimeout(timer);
    timer = setTimeout(() => { post("look"); }, 700);
  };

  text.addEventListener("input", changed);
  text.addEventListener("keyup", offer);
  text.addEventListener("click", offer);
  text.addEventListener("scroll", () => { lines.scrollTop = text.scrollTop; });
  document.getElementById("findings").addEventListener("click", event => {
    const li = event.target.closest("[data-line]");
    if (li) goTo(Number(li.dataset.line));
  });
  form.addEventListener("submit", event => {
    if (event.submitter && event.submitter.value !== "good") { event.preventDefault(); post(event.submitter.value); }
    else saved = text.value; // what is left behind is left on purpose
  });
  addEventListener("beforeunload", event => { if (text.value !== saved) event.preventDefault(); });
  number();
})();
