"use strict";
// The page: boxes that are saved as one types, work with its progress, and what all its parts share.

const byId = (id) => document.getElementById(id);
let paper = null;

function made(tag, text = "", name = "") {
  const node = document.createElement(tag);
  if (text) node.textContent = text;
  if (name) node.className = name;
  return node;
}

async function asked(path, said) {
  const options = said === undefined ? {} : { method: "POST", body: JSON.stringify(said), headers: { "Content-Type": "application/json" } };
  const answer = await fetch(`/api/${path}`, options);
  const text = await answer.text();
  let data;
  try { data = JSON.parse(text); } catch { data = { error: text.trim() }; }
  if (!answer.ok) throw Object.assign(new Error(data.error || "the desk does not answer"), { status: answer.status });
  return data;
}

// ---------------------------------------------------------------- measure

function drawn(svg, into) {
  into.replaceChildren();
  if (!svg) return;
  const quiet = svg.replace(/ style="/g, ' data-style="'); // no style may stand in the page: it is set
  const picture = document.importNode(new DOMParser().parseFromString(quiet, "text/html").body.firstChild, true);
  for (const one of picture.querySelectorAll("[data-style]")) {
    for (const rule of one.dataset.style.split(";").filter(Boolean)) {
      const [name, value] = rule.split(":");
      one.style.setProperty(name.trim(), value.trim());
    }
  }
  into.append(picture);
}

function highlighted(part) {
  const shows = { controls: "wing", mass: "cg", motor: "propeller" }[part] || part;
  for (const group of byId("view").querySelectorAll("g")) group.classList.toggle("on", group.classList.contains(shows));
}

function row(box, part) {
  const line = made("div", "", "row"), input = document.createElement("input"), label = made("label", box.label), message = made("div", "", "message");
  input.id = `box ${box.key}`;
  input.value = box.text;
  input.autocomplete = "off";
  input.spellcheck = false;
  label.htmlFor = input.id;
  label.title = box.key;
  message.id = `about ${box.key}`;
  input.setAttribute("aria-describedby", message.id);
  input.addEventListener("focus", () => highlighted(part));
  input.addEventListener("input", () => later(input, box.key));
  input.addEventListener("change", () => typed(input, box.key));
  line.dataset.key = box.key;
  line.append(label, input, message);
  return line;
}

let waiting = 0;
function later(input, key) {
  clearTimeout(waiting);
  waiting = setTimeout(() => typed(input, key), 500);
}

let line = Promise.resolve();
function typed(input, key) {
  clearTimeout(waiting);
  line = line.then(() => sent(input, key)).catch((error) => { byId("state").textContent = error.message; });
  return line;
}

async function sent(input, key) {
  const text = input.value, here = input.closest(".row");
  if (here.dataset.sent === text || paper.texts[key] === text) { if (paper.texts[key] === text && here.classList.contains("bad")) marked(paper); return; }
  here.dataset.sent = text;
  try {
    const next = await asked("value", { key, text, sha: paper.sha });
    shown(next, false);
    if (next.read !== text) said(here, "read", `read as ${next.read}`);
    outdated();
    byId("state").textContent = next.complaint ? "saved; something does not fit yet" : "saved";
  } catch (error) {
    if (error.status === 409) { shown(await asked("paper"), true); byId("state").textContent = error.message; return; }
    said(here, "bad", error.message);
    byId("state").textContent = "not saved";
  } finally { delete here.dataset.sent; }
}

/** What was found before a value was changed says so. */
function outdated() {
  for (const name of ["diagnosis", "verdict", "lesson"]) {
    const article = byId(name);
    if (!article.hidden && !article.querySelector(".outdated")) article.prepend(made("p", "A value was changed since: this is of the airplane as it was.", "first outdated"));
  }
}

function said(here, kind, text) {
  here.classList.remove("bad", "odd", "read");
  if (kind) here.classList.add(kind);
  here.querySelector(".message").textContent = text;
  here.querySelector("input").setAttribute("aria-invalid", kind === "bad" ? "true" : "false");
}

function rowOf(key) {
  const rows = [...document.querySelectorAll(".boxes .row")];
  return rows.find((one) => one.dataset.key === key) || (key && rows.find((one) => one.dataset.key.startsWith(key)));
}

function marked(state) {
  for (const one of document.querySelectorAll(".boxes .row")) said(one, "", "");
  for (const remark of state.remarks) {
    const here = remark.key && rowOf(remark.key);
    if (here) said(here, "odd", remark.text);
  }
  byId("complaint").textContent = "";
  if (state.complaint) {
    const here = rowOf(state.complaint.key);
    if (here) { said(here, "bad", state.complaint.text); here.closest("details").open = true; }
    byId("complaint").textContent = `${state.complaint.key}: ${state.complaint.text}`;
  }
}

function shown(state, anew) {
  paper = state;
  paper.texts = {};
  for (const group of state.groups) for (const box of group.boxes) paper.texts[box.key] = box.text;
  byId("airplane").textContent = state.name;
  byId("file").textContent = state.demo ? "a demo: with the first change it is copied into this folder" : `file: ${state.file}`;
  if (anew) {
    byId("groups").className = "boxes";
    byId("groups").replaceChildren(...state.groups.map((group, number) => {
      const part = made("details", "", "group");
      part.open = number < 2;
      part.append(made("summary", group.title));
      if (group.help) part.append(made("p", group.help, "how"));
      part.append(...group.boxes.map((box) => row(box, group.part)));
      return part;
    }));
    byId("looked").replaceChildren();
  } else {
    for (const one of document.querySelectorAll(".boxes .row")) {
      const input = one.querySelector("input"), text = paper.texts[one.dataset.key];
      if (text !== undefined && input !== document.activeElement) input.value = text;
    }
  }
  if (state.view) drawn(state.view, byId("view"));
  marked(state);
}

async function look() {
  byId("look").disabled = true;
  try {
    const found = await asked("check");
    drawn(found.view, byId("view"));
    const lists = [["Balance", found.balance], ["Steady flight", found.trim], ["What each stick does", found.sticks]];
    byId("looked").replaceChildren(...lists.flatMap(([title, lines]) => [made("h3", title), listed(lines)]));
    for (const remark of found.remarks) {
      const here = remark.key && rowOf(remark.key);
      if (here && !here.classList.contains("bad")) said(here, "odd", remark.text);
    }
    if (found.remarks.length) byId("looked").prepend(made("h3", "Remarks"), listed(found.remarks.map((one) => one.text)));
  } catch (error) { byId("complaint").textContent = error.message; }
  byId("look").disabled = false;
}

function listed(lines) {
  const list = made("ul");
  list.append(...lines.map((text) => made("li", text)));
  return list;
}

async function chosen() {
  const rows = await asked("airplanes"), select = byId("open");
  select.replaceChildren(...rows.map((one) => Object.assign(made("option", one.name), { value: one.name, title: one.about })));
  if (paper && !rows.some((one) => one.name === paper.name)) select.append(Object.assign(made("option", paper.name), { value: "" }));
  if (paper) select.value = paper.name;
}

// ---------------------------------------------------------------- what answers are shown with

function table(data, caption) {
  const whole = made("table"), head = made("thead"), body = made("tbody"), top = made("tr");
  whole.append(made("caption", caption, "skip"), head, body);
  top.append(...data.columns.map(([name, side]) => Object.assign(made("th", name, side === "right" ? "right" : ""), { scope: "col" })));
  head.append(top);
  body.append(...data.rows.map((cells) => {
    const one = made("tr");
    one.append(...cells.map((cell, i) => made("td", cell, data.columns[i][1] === "right" ? "right" : "")));
    return one;
  }));
  const wide = made("div", "", "wide");
  wide.append(whole);
  return wide;
}

function folded(title, ...inside) {
  const part = made("details");
  part.append(made("summary", title), ...inside);
  return part;
}

function page(run, file, text) {
  const link = Object.assign(made("a", text), { href: `/${encodeURI(run)}/${file}`, target: "_blank", rel: "noopener" });
  const line = made("p");
  line.append(link);
  return line;
}

/** What can be chosen in a drawing: by a click near it, or by keys once one of them has the focus. */
function choosable(svg, picked) {
  const marks = [...svg.querySelectorAll("[data-pick]")];
  const choose = (mark) => {
    for (const one of marks) { one.setAttribute("aria-pressed", String(one === mark)); one.tabIndex = one === mark ? 0 : -1; }
    picked(mark.dataset.pick);
  };
  marks.forEach((mark, number) => {
    mark.setAttribute("role", "button");
    mark.setAttribute("aria-label", mark.dataset.words);
    mark.setAttribute("aria-pressed", "false");
    mark.tabIndex = number ? -1 : 0;
    mark.append(Object.assign(document.createElementNS(svg.namespaceURI, "title"), { textContent: mark.dataset.words }));
    mark.addEventListener("keydown", (event) => {
      const next = marks[number + ({ ArrowRight: 1, ArrowUp: 1, ArrowLeft: -1, ArrowDown: -1 }[event.key] || 0)];
      if (event.key === "Enter" || event.key === " ") choose(mark);
      else if (next && next !== mark) next.focus();
      else return;
      event.preventDefault();
    });
  });
  svg.addEventListener("click", (event) => {
    const away = (mark) => { const box = mark.getBoundingClientRect(); return Math.hypot(box.x + box.width / 2 - event.clientX, box.y + box.height / 2 - event.clientY); };
    const near = marks.reduce((a, b) => (away(b) < away(a) ? b : a));
    if (away(near) < 40) choose(near);
  });
}

// ---------------------------------------------------------------- work that takes a while

let watching = 0;
async function watched() {
  clearTimeout(watching);
  const job = await asked("job").catch((error) => ({ running: false, error: error.message, ready: "" }));
  for (const one of document.querySelectorAll(".progress")) one.hidden = !job.running || one.dataset.job !== job.name;
  const bar = document.querySelector(`.progress[data-job="${job.name}"]`);
  for (const name of ["tune", "see", "learn", "undo", "tell"]) byId(name).disabled = job.running;
  byId("cancel").hidden = !job.running;
  if (job.ready) byId("state").textContent = job.ready;
  else if (byId("state").dataset.ready !== "yes") { byId("state").textContent = "ready"; byId("state").dataset.ready = "yes"; }
  if (job.running && bar) {
    bar.querySelector("progress").value = job.share;
    bar.querySelector("span").textContent = job.text;
  } else {
    const failed = byId({ learn: "notes-failed", diagnose: "see-failed" }[job.name] || "failed");
    if (job.error || job.text) failed.textContent = job.error || job.text;
    if (job.answer) ({ tune: told, diagnose: diagnosed, learn: learned })[job.name](job.answer);
  }
  if (job.running || job.ready) watching = setTimeout(watched, 100);
}

// ---------------------------------------------------------------- begin

/** Another airplane lies on the desk: what was found of the last one is gone. */
async function opened(path, said) {
  shown(await asked(path, said), true);
  for (const name of ["diagnosis", "stepwise", "verdict", "again", "lesson"]) byId(name).hidden = true;
  putAway();
  for (const name of ["failed", "see-failed", "notes-failed", "setup-links"]) byId(name).replaceChildren();
  byId("setup-none").hidden = false;
  untuned();
  await Promise.all([chosen(), logbook()]);
}

addEventListener("DOMContentLoaded", async () => {
  byId("open").addEventListener("change", () => byId("open").value && opened("open", { name: byId("open").value }));
  byId("choose").addEventListener("submit", async (event) => {
    event.preventDefault();
    try { await opened("new", { name: byId("new-name").value.trim(), units: byId("new-units").value }); }
    catch (error) { byId("complaint").textContent = error.message; }
  });
  byId("look").addEventListener("click", look);
  shown(await asked("paper"), true);
  await Promise.all([chosen(), logbook()]);
  watched();
});
