"use strict";
// Diagnose: what one would see, as lengths; from each to what makes it, what takes it away, and the flights that show it.

let diagnosedWith = []; // changes

async function seen() {
  byId("see-failed").textContent = "";
  try { await asked("diagnose", { changes: changes() }); watched(); } catch (error) { byId("see-failed").textContent = error.message; }
}

function diagnosed(answer) {
  const list = made("ol", "", "findings");
  diagnosedWith = answer.asked;
  if (byId("diagnosis").contains(byId("flown"))) putAway();
  list.append(...answer.seen.map((one, number) => finding(one, (answer.seen[number - 1] || {}).part !== one.part)));
  byId("diagnosis").replaceChildren(
    made("p", `First: ${answer.first}`, "first"),
    made("h3", "What you would see, in the order of trimming"),
    made("p", "The longer, the stronger. Choose one to see it fly, what makes it and what takes it away.", "key"),
    list,
    made("p", answer.unseen),
    ...(answer.wrong.length ? [listed(answer.wrong)] : []),
    made("p", answer.short, "caution"),
    folded("before you change anything", listed(answer.cautions)),
    made("p", [`${answer.flights} flights`, ...answer.changes_said].join(", "), "key"),
  );
  byId("diagnosis").hidden = byId("stepwise").hidden = false;
  byId("change").replaceChildren(...answer.changes.map((name) => Object.assign(made("option", name.replace("cg", "CG").replaceAll("-", " ")), { value: name })));
  sizes();
}

function lengthOf(share, left = share) {
  const whole = made("span", "", "length"), inner = made("span");
  whole.setAttribute("aria-hidden", "true");
  whole.style.setProperty("--share", share);
  whole.style.setProperty("--left", left);
  whole.append(inner);
  return whole;
}

function finding(one, first) {
  const row = made("li"), button = Object.assign(made("button", "", "finding"), { type: "button" }), causes = made("div", "", "causes");
  if (first) row.append(made("span", one.part, "part"));
  button.append(made("span", `${one.said}: ${one.tendency}`), lengthOf(one.length), made("span", one.sure, "key"));
  button.setAttribute("aria-expanded", "false");
  causes.hidden = true;
  button.addEventListener("click", () => {
    const open = button.getAttribute("aria-expanded") === "true";
    for (const other of document.querySelectorAll(".finding[aria-expanded=true]")) { other.setAttribute("aria-expanded", "false"); other.nextSibling.hidden = true; }
    if (open) return;
    button.setAttribute("aria-expanded", "true");
    causes.hidden = false;
    if (!causes.firstChild) causesOf(causes, one);
    causes.flight({});
  });
  row.append(button, causes);
  return row;
}

/** What makes it, what takes it away, and a place for the flight; `causes.flight` flies it, with a remedy or bare. */
function causesOf(causes, one) {
  const left = made("div"), right = made("div"), made_by = made("div", "", "small"), remedies = made("ul", "", "remedies");
  drawn(one.made_by, made_by);
  causes.flight = ({ changes: then = [], ratios = {} }) =>
    fly(right, { maneuver: one.maneuver, ratios, changes: diagnosedWith, then }, () => play(one.side));
  remedies.append(...one.remedies.map((remedy) => {
    const row = made("li"), flies = remedy.changes.length || Object.keys(remedy.ratios).length;
    const button = flies ? Object.assign(made("button", "", "remedy"), { type: "button" }) : made("div", "", "remedy");
    button.append(made("span", remedy.words), lengthOf(1, remedy.leaves / 100), made("span", `leaves ${remedy.leaves.toFixed(0)} %`, "key"));
    if (flies) button.addEventListener("click", () => {
      for (const other of remedies.querySelectorAll("button")) other.setAttribute("aria-pressed", String(other === button));
      causes.flight(remedy);
    });
    if (flies) button.setAttribute("aria-pressed", "false");
    row.append(button);
    if (remedy.but) row.append(made("p", remedy.but, "key"));
    return row;
  }));
  left.append(made("h4", "what makes it: what goes when it goes"), made_by, made("h4", "what takes it away, and what that leaves"), one.remedies.length ? remedies : made("p", "no usual change cures it"));
  causes.classList.add("bench");
  causes.append(left, right);
}

// ---------------------------------------------------------------- one change, step by step

async function sizes() {
  const name = byId("change").value;
  byId("sizes").replaceChildren(made("p", "flying", "key"));
  let answer;
  try { answer = await asked("steps", { changes: diagnosedWith, change: name }); }
  catch (error) { byId("sizes").replaceChildren(made("p", error.message)); return; }
  if (name !== byId("change").value) return;
  const chart = made("div", "", "small");
  drawn(answer.chart, chart);
  choosable(chart.firstChild, (pick) => {
    const [maneuver, change] = pick.split("|");
    fly(byId("sizes-flown"), { maneuver, ratios: {}, changes: diagnosedWith, then: change ? [change] : [] }, () => play("right"));
  });
  byId("sizes").replaceChildren(chart);
}

addEventListener("DOMContentLoaded", () => {
  byId("change").addEventListener("change", sizes);
  byId("see").addEventListener("click", seen);
});
