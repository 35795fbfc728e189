"use strict";
// Notes: ticked, typed or out of a file; what they tell, flight by flight; and out again.

let book = null;

async function logbook() {
  try { book = await asked("logbook"); } catch { book = null; }
  byId("kept").textContent = !book ? "" : book.kept.length ? `Kept beside the airplane's file: ${book.kept.join(", ")}.` : "No notes are kept yet.";
  byId("tell").hidden = byId("undo").hidden = !book || !book.kept.length;
  if (!book) return;
  byId("undo").textContent = book.last.length ? `Take ${book.last.join(", ")} out` : "Take the last ones out";
  byId("notes-flight").value = book.next;
  byId("ticks").dataset.aircraft = book.aircraft;
  if (!byId("tick-fields").firstChild) byId("tick-fields").append(...new DOMParser().parseFromString(book.ticks, "text/html").body.childNodes);
}

/** Ratios that were in force, as notes say them. */
function inForce() {
  const said = {};
  if (byId("notes-blends").value === "sliders" && found) {
    for (const { name } of found.blends) {
      const percent = dialed.get(name);
      if (percent) said[name] = inWords(percent, name.split("-")[1].split(".")[0]).toLowerCase();
    }
  }
  return Object.keys(said).length ? JSON.stringify(said) : "none";
}

function ticked(event) {
  event.preventDefault();
  const flight = byId("tick-fields");
  flight.dataset.flight = byId("notes-flight").value;
  flight.dataset.switch = "on";
  flight.dataset.blends = inForce();
  const text = sixdofNotes(byId("ticks"));
  byId("notes-failed").textContent = text.includes("passes:") ? "" : "nothing was ticked or typed yet";
  if (!text.includes("passes:")) return;
  byId("notes-text").value = text;
  byId("notes-text").dataset.name = `flight-${byId("notes-flight").value}.yaml`;
  byId("notes-text").focus();
}

async function chosenFile() {
  const [file] = byId("notes-file").files;
  if (!file) return;
  byId("notes-text").value = await file.text();
  byId("notes-text").dataset.name = file.name;
}

function learned(answer) {
  const narrows = made("div", "", "narrowing");
  narrows.append(...answer.narrowing.map(([said, svg]) => {
    const figure = made("figure"), chart = made("div");
    drawn(svg, chart);
    figure.append(made("figcaption", said), chart);
    return figure;
  }));
  byId("lesson").replaceChildren(
    made("h3", "Logbook"),
    ...(answer.flights.length ? [made("p", answer.narrowing_said, "key"), narrows, flightList(answer.flights)] : [made("p", "No flight is in it.")]),
    made("h3", "Ratios before and after the notes"),
    table(answer.ratios, "Ratios before and after the notes"),
    made("p", answer.served),
    ...answer.said.map((text) => made("p", text, "first")),
    ...(answer.next.length ? [made("h3", "The note to take next"), listed(answer.next)] : []),
    made("p", answer.short, "caution"),
    folded("what notes cannot tell", listed(answer.cannot)),
    made("p", "Tune again: it knows these notes now.", "key"),
  );
  byId("lesson").hidden = false;
  byId("notes-text").value = byId("notes-file").value = "";
  delete byId("notes-text").dataset.name;
  byId("ticks").reset();
  logbook();
}

function flightList(flights) {
  const list = made("ol", "", "flights-noted");
  list.append(...flights.map(([number, belief, set, seen]) => {
    const row = made("li");
    row.append(made("strong", `flight ${number}, ${belief}`), made("span", ` set: ${set}; seen: ${seen}`));
    return row;
  }));
  return list;
}

async function noted(event, { undo = false, only = false } = {}) {
  event.preventDefault();
  byId("notes-failed").textContent = "";
  const text = undo || only ? "" : byId("notes-text").value;
  if (!undo && !only && !text.trim()) { byId("notes-failed").textContent = "no notes yet: tick them, choose a file, or write them"; return; }
  try {
    await asked("learn", { name: byId("notes-text").dataset.name || `from-flight-${book ? book.next : 1}.yaml`, text, undo, keep: byId("notes-keep").checked });
    watched();
  } catch (error) { byId("notes-failed").textContent = error.message; }
}

addEventListener("DOMContentLoaded", () => {
  byId("ticks").addEventListener("submit", ticked);
  byId("notes-file").addEventListener("change", chosenFile);
  byId("noted").addEventListener("submit", noted);
  byId("tell").addEventListener("click", (event) => noted(event, { only: true }));
  byId("undo").addEventListener("click", (event) => noted(event, { undo: true }));
});
