"use strict";
// The page: boxes that are saved as one types, a tune with its progress, the answer in the words of the terminal.

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
    byId("state").textContent = next.complaint ? "saved; something does not fit yet" : "saved";
  } catch (error) {
    if (error.status === 409) { shown(await asked("paper"), true); byId("state").textContent = error.message; return; }
    said(here, "bad", error.message);
    byId("state").textContent = "not saved";
  } finally { delete here.dataset.sent; }
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

// ---------------------------------------------------------------- trim

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

function told(answer) {
  const changed = answer.changes.length ? `; changed: ${answer.changes.join(", ")}` : "";
  const invented = answer.invented ? "; an invented airplane: do not dial this in" : "";
  byId("verdict").replaceChildren(
    made("p", `${answer.airplane}, rate ${answer.rate}${changed}${invented}`),
    made("p", `First: ${answer.first}`, "first"),
    table(answer.ratios, "What to dial in"),
    ...[answer.edge, answer.totals, ...answer.most].filter(Boolean).map((text) => made("p", text)),
    made("p", answer.short, "caution"),
    folded("every ratio in words", listed(answer.words)),
    folded("every maneuver, bare and blended", table(answer.drifts, "Worst drift with the sticks let go")),
    folded(`all ${answer.remarks.length} remarks`, listed(answer.remarks)),
    folded("before you act on this", listed(answer.cautions)),
    made("p", `run: ${answer.run}`, "key"),
  );
  byId("verdict").hidden = false;
  byId("setup-none").hidden = true;
  sliders(answer);
  byId("setup-links").replaceChildren(page(answer.run, "report.html", "Report of this tune, to keep or to send"), page(answer.run, "sheet.html", "Set-up sheet and flight card"),
    made("p", "Two pages to print. The card's ticks can be saved as a file of notes, also on a phone without a network.", "key"));
}

function page(run, file, text) {
  const link = Object.assign(made("a", text), { href: `/${encodeURI(run)}/${file}`, target: "_blank", rel: "noopener" });
  const line = made("p");
  line.append(link);
  return line;
}

function diagnosed(answer) {
  byId("diagnosis").replaceChildren(
    made("p", `First: ${answer.first}`, "first"),
    table(answer.seen, "What you would see"),
    made("p", answer.unseen),
    ...(answer.wrong.length ? [listed(answer.wrong)] : []),
    made("p", answer.short, "caution"),
    folded("before you change anything", listed(answer.cautions)),
    made("p", `${answer.flights} flights`, "key"),
  );
  byId("diagnosis").hidden = false;
}

async function seen() {
  byId("failed").textContent = "";
  try { await asked("diagnose", { changes: changes() }); watched(); } catch (error) { byId("failed").textContent = error.message; }
}

function learned(answer) {
  byId("lesson").replaceChildren(
    table(answer.ratios, "Ratios before and after the notes"),
    made("p", answer.served),
    ...answer.said.map((text) => made("p", text, "first")),
    ...(answer.next.length ? [made("h3", "The note to take next"), listed(answer.next)] : []),
    made("p", answer.short, "caution"),
    folded("flight by flight", table({ columns: [["flight", "left"], ["notes", "left"], ["set", "left"], ["seen", "left"]], rows: answer.flights }, "Logbook")),
    folded("what notes cannot tell", listed(answer.cannot)),
    made("p", "Tune again: it knows these notes now.", "key"),
  );
  byId("lesson").hidden = false;
}

async function noted(event, undo) {
  event.preventDefault();
  byId("notes-failed").textContent = "";
  const file = byId("notes-file").files[0], text = undo ? "" : file ? await file.text() : byId("notes-text").value;
  try {
    await asked("learn", { name: file ? file.name : "desk.yaml", text, undo, keep: byId("notes-keep").checked });
    watched();
  } catch (error) { byId("notes-failed").textContent = error.message; }
}

async function tuned(event) {
  event.preventDefault();
  byId("failed").textContent = "";
  try { await asked("tune", { changes: changes() }); watched(); } catch (error) { byId("failed").textContent = error.message; }
}

let watching = 0;
async function watched() {
  clearTimeout(watching);
  const job = await asked("job").catch((error) => ({ running: false, error: error.message, ready: "" }));
  for (const one of document.querySelectorAll(".progress")) one.hidden = !job.running || one.dataset.job !== job.name;
  const bar = document.querySelector(`.progress[data-job="${job.name}"]`);
  for (const name of ["tune", "see", "learn", "undo"]) byId(name).disabled = job.running;
  byId("cancel").hidden = !job.running;
  if (job.ready) byId("state").textContent = job.ready;
  else if (byId("state").dataset.ready !== "yes") { byId("state").textContent = "ready"; byId("state").dataset.ready = "yes"; }
  if (job.running && bar) {
    bar.querySelector("progress").value = job.share;
    bar.querySelector("span").textContent = job.text;
  } else {
    const failed = byId(job.name === "learn" ? "notes-failed" : "failed");
    if (job.error || job.text) failed.textContent = job.error || job.text;
    if (job.answer) ({ tune: told, diagnose: diagnosed, learn: learned })[job.name](job.answer);
  }
  if (job.running || job.ready) watching = setTimeout(watched, 250);
}

// ---------------------------------------------------------------- sliders that fly at once

let found = null, player = null, flying = false, flyAgain = false;
const dialed = new Map();

function slider(blend) {
  const line = made("label", "", "slide"), input = document.createElement("input"), output = made("output");
  const most = Math.max(10, Math.min(blend.most, Math.ceil((2 * Math.abs(blend.percent)) / 5) * 5));
  Object.assign(input, { type: "range", min: -most, max: most, step: 0.5, value: dialed.get(blend.name) });
  input.dataset.name = blend.name;
  const target = blend.name.split("-")[1].split(".")[0];
  input.addEventListener("input", () => {
    dialed.set(blend.name, Number(input.value));
    output.textContent = inWords(Number(input.value), target);
    flown();
  });
  output.textContent = inWords(dialed.get(blend.name), target);
  line.append(made("span", blend.said), input, output);
  return line;
}

function inWords(percent, target) {
  if (!percent) return "0 %";
  const ways = { elevator: ["DOWN", "UP"], flap: ["UP", "DOWN"] }[target] || ["LEFT", "RIGHT"];
  return `${Math.abs(percent)} % ${ways[percent > 0 ? 1 : 0]}`;
}

function sliders(answer) {
  found = answer;
  for (const blend of answer.blends) dialed.set(blend.name, blend.percent);
  const names = [...new Set(answer.blends.flatMap((blend) => blend.maneuvers))];
  byId("maneuver").replaceChildren(...names.map((name) => Object.assign(made("option", name.replaceAll("_", " ")), { value: name })));
  byId("again").hidden = !names.length;
  if (names.length) offered();
}

function offered() {
  const name = byId("maneuver").value;
  byId("ratio-sliders").replaceChildren(...found.blends.filter((blend) => blend.maneuvers.includes(name)).map(slider));
  flown();
}

function set(change) {
  for (const input of byId("ratio-sliders").querySelectorAll("input")) {
    input.value = change(input);
    input.dispatchEvent(new Event("input"));
  }
}

/** All ratios as the sliders stand, one blend a line with its sides in words. */
function blendFile() {
  const sides = new Map();
  for (const { name } of found.blends) {
    const [blend, side] = name.split("."), target = blend.split("-")[1], percent = dialed.get(name);
    if (percent) sides.set(blend, [...(sides.get(blend) || []), `${side}: "${inWords(percent, target).toLowerCase()}"`]);
  }
  const lines = [...sides].map(([blend, said]) => {
    const [source, target] = blend.split("-");
    return `  - {source: ${source}, target: ${target}, ${said.join(", ")}}`;
  });
  const invented = found.invented ? "# An invented airplane: do not dial this in.\n" : "";
  return `# ${found.airplane}: a starting point, not a fact; propeller off on the bench, high, half the ratio first.\n${invented}blends:${lines.length ? "" : " []"}\n${lines.join("\n")}\n`;
}

function kept() {
  const link = Object.assign(document.createElement("a"), {
    href: URL.createObjectURL(new Blob([blendFile()], { type: "text/yaml" })), download: `${found.airplane}-blends.yaml`,
  });
  link.click();
  URL.revokeObjectURL(link.href);
}

function changes() {
  const moved = Number(byId("cg").value);
  return moved ? [`cg=${Math.abs(moved)} mm ${moved > 0 ? "aft" : "forward"}`] : [];
}

async function flown() {
  if (flying) { flyAgain = true; return; }
  flying = true;
  do {
    flyAgain = false;
    const ratios = {};
    for (const input of byId("ratio-sliders").querySelectorAll("input")) ratios[input.dataset.name] = Number(input.value);
    try {
      const answer = await asked("fly", { maneuver: byId("maneuver").value, ratios, changes: changes(), speed: Number(byId("speed").value) });
      byId("again-words").replaceChildren(...answer.words.map((text) => made("li", text)));
      byId("charts").replaceChildren(...answer.charts.map((svg, number) => {
        const chart = made("div");
        chart.dataset.chart = number;
        drawn(svg, chart);
        return chart;
      }));
      if (player) player.retake(answer.player);
      else player = sixdofPlayer(byId("replay"), answer.player);
      if (!player) byId("replay").replaceChildren(...byId("charts").childNodes);
    } catch (error) { byId("again-words").replaceChildren(made("li", error.message)); }
  } while (flyAgain);
  flying = false;
}

// ---------------------------------------------------------------- begin

addEventListener("DOMContentLoaded", async () => {
  byId("open").addEventListener("change", async () => { if (byId("open").value) shown(await asked("open", { name: byId("open").value }), true); });
  byId("choose").addEventListener("submit", async (event) => {
    event.preventDefault();
    try {
      shown(await asked("new", { name: byId("new-name").value.trim(), units: byId("new-units").value }), true);
      await chosen();
    } catch (error) { byId("complaint").textContent = error.message; }
  });
  byId("look").addEventListener("click", look);
  byId("see").addEventListener("click", seen);
  byId("noted").addEventListener("submit", (event) => noted(event, false));
  byId("undo").addEventListener("click", (event) => noted(event, true));
  byId("ask").addEventListener("submit", tuned);
  byId("cancel").addEventListener("click", () => asked("cancel", {}));
  byId("maneuver").addEventListener("change", offered);
  byId("sliders").addEventListener("submit", (event) => event.preventDefault());
  byId("speed").addEventListener("input", () => { byId("speed-said").textContent = `${byId("speed").value} %`; flown(); });
  byId("back").addEventListener("click", () => set((input) => found.blends.find((blend) => blend.name === input.dataset.name).percent));
  byId("none").addEventListener("click", () => set(() => 0));
  byId("keep").addEventListener("click", kept);
  byId("reverse").addEventListener("click", () => set((input) => -input.value));
  byId("cg").addEventListener("input", () => {
    if (found) flown();
    const moved = Number(byId("cg").value);
    byId("cg-said").textContent = moved ? `${Math.abs(moved)} mm ${moved > 0 ? "aft" : "forward"}` : "as measured";
  });
  shown(await asked("paper"), true);
  await chosen();
  watched();
});
