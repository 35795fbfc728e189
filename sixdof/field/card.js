"use strict";

// What was ticked and typed in a form, as a file of notes: every fieldset is one thing seen, of one pass of one flight.
const sixdofNotes = (() => {
  function typed(field, name = "") {
    return field.querySelector(`input[data-part="number${name}"]`)?.value.trim() ?? "";
  }

  function ticked(field, part) {
    return field.querySelector(`input[data-part="${part}"]:checked`)?.value ?? "";
  }

  function read(field) {
    const number = typed(field), way = ticked(field, "way"), size = ticked(field, "size");
    switch (field.dataset.kind) {
      case "stick": return number && (Number(number) === 0 ? "0 %" : way && `${number} % ${way}`);
      case "word": return size && (size === "nothing" ? size : way && `${size} ${way}`);
      case "percent": return number && `${number} %`;
      case "seconds": return number && `${number} s`;
      case "passes": return number && typed(field, "2") && `${number} of ${typed(field, "2")}`;
      default: return way;
    }
  }

  function passesOf(flight) {
    const passes = new Map();
    for (const field of flight.querySelectorAll("fieldset[data-key]")) {
      const value = read(field), { maneuver, rudder, key } = field.dataset;
      if (!value) continue;
      const name = `${maneuver} ${rudder}`;
      if (!passes.has(name)) passes.set(name, rudder ? { maneuver, rudder } : { maneuver });
      passes.get(name)[key] = value;
    }
    for (const pass of passes.values()) {
      if (pass.seconds_to_45 && (!pass.roll || pass.roll === "nothing")) delete pass.seconds_to_45;
    }
    const says = (pass) => Object.keys(pass).some((key) => !["maneuver", "rudder", "passes"].includes(key));
    return [...passes.values()].filter(says);
  }

  function notes(form) {
    const text = JSON.stringify, head = form.dataset, lines = ["sixdof_notes: 1"];
    for (const key of ["aircraft", "sha256", "rate"]) if (head[key]) lines.push(`${key}: ${text(head[key])}`);
    lines.push("flights:");
    for (const flight of form.querySelectorAll("[data-flight]")) {
      const passes = passesOf(flight);
      if (!passes.length) continue;
      lines.push(`  - flight: ${flight.dataset.flight}`);
      for (const name of ["date", "helper", "wind"]) {
        const value = form.elements[name].value.trim();
        if (value) lines.push(`    ${name}: ${text(value)}`);
      }
      lines.push(`    switch: ${flight.dataset.switch}`, `    blends: ${flight.dataset.blends}`, "    passes:");
      for (const pass of passes) lines.push(`      - ${text(pass)}`);
    }
    return `${lines.join("\n")}\n`;
  }

  return notes;
})();

for (const form of document.querySelectorAll("form[data-file]")) {
  form.addEventListener("submit", (event) => {
    event.preventDefault();
    const link = document.createElement("a");
    link.href = URL.createObjectURL(new Blob([sixdofNotes(form)], { type: "text/yaml" }));
    link.download = form.dataset.file;
    link.click();
    URL.revokeObjectURL(link.href);
  });
}
