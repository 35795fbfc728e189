"use strict";
// Trim: a tune and its answer, sliders that fly at once, and the one replay that all parts of the page share.

// ---------------------------------------------------------------- the answer

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

async function tuned(event) {
  event.preventDefault();
  byId("failed").textContent = "";
  const cg = Number(byId("cg").value);
  try { await asked("tune", { changes: changes() }); tunedCg = cg; watched(); } catch (error) { byId("failed").textContent = error.message; }
}

// ---------------------------------------------------------------- flights

let player = null, shownAirplane = "", flying = false, wanted = null;

/** Fly what is asked for and show it at a place of the page; of all that is asked meanwhile the last counts. */
async function fly(place, said, after = () => {}) {
  wanted = { place, said, after };
  if (flying) return;
  flying = true;
  while (wanted) {
    const now = wanted;
    wanted = null;
    try { now.after(present(now.place, await asked("fly", { ...now.said, has: shownAirplane }))); }
    catch (error) {
      placed(now.place);
      byId("flown-words").replaceChildren(made("li", error.message));
      byId("replay").hidden = true; // it shows another flight
    }
  }
  flying = false;
}

function placed(place) {
  if (byId("flown").parentElement !== place) place.append(byId("flown"));
  byId("flown").hidden = false;
}

/** The replay goes home, until something is flown. */
function putAway() {
  placed(byId("trim-flown"));
  byId("flown").hidden = true;
}

function present(place, answer) {
  placed(place);
  byId("replay").hidden = false;
  byId("flown-words").replaceChildren(...answer.words.map((text) => made("li", text)));
  byId("charts").replaceChildren(...answer.charts.map((svg, number) => {
    const chart = made("div");
    chart.dataset.chart = number;
    drawn(svg, chart);
    return chart;
  }));
  if (player && shownAirplane === answer.airplane) answer.player.hull = player.data.hull;
  else if (player) player.painter.hulls.clear(); // its shape is another
  shownAirplane = answer.airplane;
  if (player) player.retake(answer.player);
  else player = sixdofPlayer(byId("replay"), answer.player);
  if (!player) byId("replay").replaceChildren(...byId("charts").childNodes);
  return answer;
}

/** One side of what was just flown, from its beginning; it plays unless one wants it still. */
function play(side) {
  if (!player) return;
  const number = side === "left" && player.data.stages.length > 1 ? 1 : 0;
  player.choice.value = number;
  player.show(number);
  if (player.playing === matchMedia("(prefers-reduced-motion: reduce)").matches) player.toggle();
}

// ---------------------------------------------------------------- sliders

let found = null, exploredRatio = "", tunedCg = 0;
const dialed = new Map();

function slider(blend) {
  const row = made("div", "", "slide"), input = document.createElement("input"), output = made("output"), label = made("label", blend.said);
  const range = Object.assign(made("button", "its range"), { type: "button" });
  const most = Math.max(10, Math.min(blend.most, Math.ceil((2 * Math.abs(blend.percent)) / 5) * 5));
  Object.assign(input, { type: "range", min: -most, max: most, step: 0.5, value: dialed.get(blend.name), id: `ratio ${blend.name}` });
  input.dataset.name = blend.name;
  label.htmlFor = output.htmlFor = input.id;
  const target = blend.name.split("-")[1].split(".")[0];
  input.addEventListener("input", () => {
    dialed.set(blend.name, Number(input.value));
    output.textContent = inWords(Number(input.value), target);
    atSlider(blend.name);
    flown();
  });
  output.textContent = inWords(dialed.get(blend.name), target);
  range.setAttribute("aria-label", `${blend.said}: its range`);
  range.setAttribute("aria-pressed", "false");
  range.addEventListener("click", () => {
    exploredRatio = exploredRatio === blend.name ? "" : blend.name;
    explored();
  });
  row.append(label, output, input, range);
  return row;
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

function untuned() {
  found = null;
  exploredRatio = "";
  tunedCg = 0;
  dialed.clear();
  byId("explored").replaceChildren();
  asFlown();
}

function offered() {
  const name = byId("maneuver").value;
  exploredRatio = "";
  byId("ratio-sliders").replaceChildren(...found.blends.filter((blend) => blend.maneuvers.includes(name)).map(slider));
  freeRudder();
  flown();
}

function set(change) {
  for (const input of byId("ratio-sliders").querySelectorAll("input")) {
    input.value = change(input);
    input.dispatchEvent(new Event("input"));
  }
}

/** CG, speed, rudder and wind as in the tune. */
function asFlown() {
  for (const [name, value] of [["cg", tunedCg], ["speed", 100], ["wind", 0]]) byId(name).value = value;
  freeRudder();
  saidBySliders();
}

function freeRudder() { byId("rudder").dataset.free = "yes"; }

function saidBySliders() {
  const moved = changes()[0], wind = Number(byId("wind").value), mph = paper && paper.inches ? ` (${(2.237 * wind).toFixed(0)} mph)` : "";
  byId("cg-said").textContent = moved ? moved.slice(3) : "as measured";
  byId("with").textContent = moved ? `with the CG ${moved.slice(3)}` : "";
  byId("speed-said").textContent = `${byId("speed").value} %`;
  byId("wind-said").textContent = wind ? `${wind} m/s${mph}` : "calm";
}

function changes() {
  const moved = Number(byId("cg").value);
  return moved ? [`cg=${Math.abs(moved)} mm ${moved > 0 ? "aft" : "forward"}`] : [];
}

/** What the sliders ask for. */
function asking() {
  const ratios = {}, wind = Number(byId("wind").value), free = byId("rudder").dataset.free === "yes" || byId("rudder-row").hidden;
  for (const input of byId("ratio-sliders").querySelectorAll("input")) ratios[input.dataset.name] = Number(input.value);
  return {
    maneuver: byId("maneuver").value, ratios, changes: changes(), speed: Number(byId("speed").value),
    rudder: free ? null : Number(byId("rudder").value), wind: wind ? `${wind} m/s from ${byId("wind-from").value}` : "",
  };
}

function flown() {
  saidBySliders();
  return fly(byId("trim-flown"), asking(), (answer) => {
    drawn(answer.flow, byId("flow"));
    const { rudder } = answer, free = byId("rudder").dataset.free === "yes";
    byId("rudder-row").hidden = !rudder.length;
    if (rudder.length && free) byId("rudder").value = rudder.reduce((a, b) => a + b) / rudder.length;
    const each = rudder.map((percent, i) => `${["right", "left"][i]} ${percent.toFixed(0)} %`).join(", ");
    byId("rudder-said").textContent = free ? `as held: ${each}` : `${byId("rudder").value} %`;
    if (exploredRatio && !wanted) explored();
  });
}

/** What drifts over the range of one ratio, all else as the sliders stand; a point that is chosen sets its slider. */
async function explored() {
  const name = exploredRatio, input = byId(`ratio ${name}`);
  for (const button of byId("ratio-sliders").querySelectorAll("button")) button.setAttribute("aria-pressed", String(button.parentElement.contains(input)));
  if (!name) { byId("explored").replaceChildren(); return; }
  let charts;
  try { ({ charts } = await asked("explore", { ...asking(), vary: name, most: Number(input.max) })); }
  catch (error) { byId("explored").replaceChildren(made("p", error.message, "key")); return; }
  if (name !== exploredRatio) return;
  byId("explored").replaceChildren(made("p", `${found.blends.find((blend) => blend.name === name).said}: what drifts over its range, all else as it stands; choose a point`, "key"), ...charts.map((svg) => {
    const chart = made("div", "", "small");
    drawn(svg, chart);
    if (!svg) chart.append(made("p", "No flight comes to its end in this range.", "key"));
    else choosable(chart.firstChild, (percent) => { input.value = percent; input.dispatchEvent(new Event("input")); });
    return chart;
  }));
  atSlider(name);
}

/** A line where the slider stands, in the drawing of its range. */
function atSlider(name) {
  if (name !== exploredRatio) return;
  for (const svg of byId("explored").querySelectorAll("svg")) {
    const { left, right, low, high } = svg.dataset, x = Number(left) + ((Number(right) - left) * (dialed.get(name) - low)) / (high - low);
    const line = svg.querySelector(".cursor") || svg.appendChild(document.createElementNS(svg.namespaceURI, "line"));
    for (const [key, value] of [["class", "cursor"], ["x1", x], ["x2", x], ["y1", 4], ["y2", svg.viewBox.baseVal.height - 20]]) line.setAttribute(key, value);
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

addEventListener("DOMContentLoaded", () => {
  byId("ask").addEventListener("submit", tuned);
  byId("cancel").addEventListener("click", () => asked("cancel", {}));
  byId("maneuver").addEventListener("change", offered);
  byId("sliders").addEventListener("submit", (event) => event.preventDefault());
  for (const name of ["cg", "speed", "wind"]) byId(name).addEventListener("input", flown);
  byId("wind-from").addEventListener("change", flown);
  byId("rudder").addEventListener("input", () => { byId("rudder").dataset.free = "no"; flown(); });
  byId("back").addEventListener("click", () => { asFlown(); set((input) => found.blends.find((blend) => blend.name === input.dataset.name).percent); });
  byId("none").addEventListener("click", () => set(() => 0));
  byId("keep").addEventListener("click", kept);
  byId("reverse").addEventListener("click", () => set((input) => -input.value));
});
