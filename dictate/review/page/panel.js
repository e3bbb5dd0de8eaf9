// The panel in which a value is changed, put right below the line that it stands in.

import * as onsets from "./onsets.js";
import * as sound from "./sound.js";
import * as words from "./words.js";

const at = (id) => document.getElementById(id);
const panel = at("panel");
const LISTS = ["descriptors", "faults", "terms", "texts"];
const SAID = {
  "nose.aromas": "smells of", "nose.absent": "not on the nose", "palate.tannin_texture": "tannin feels",
  "palate.texture": "feels", "palate.flavours": "tastes of", "palate.absent": "not on the palate",
  "finish.flavours": "ends on", remarks: "remarks", asides: "asides",
};
const MOVES = [
  ["nose.aromas", "palate.flavours", "finish.flavours", "palate.texture", "palate.tannin_texture", "nose.absent", "palate.absent"],
  ["remarks", "asides"],
];
let value = null; // the value's element, or the add button
let send = async () => {};
let before = null; // what the fields were when it was opened
let kind = "";
let path = "";

export function onChange(given) {
  send = given;
}

export const isOpen = () => !panel.hidden;
export const opened = () => (panel.hidden ? null : value);

function shown(names) {
  for (const part of panel.querySelectorAll("[data-for]")) part.hidden = !names.includes(part.dataset.for);
}

function option(select, entries) {
  select.replaceChildren(
    ...entries.map(([name, text]) => {
      const made = document.createElement("option");
      made.value = name;
      made.textContent = text;
      return made;
    }),
  );
}

function fieldsOf(ofKind, adding) {
  if (ofKind === "level") return ["level"];
  if (ofKind === "seconds") return timed() && !adding && !sound.lacks() ? ["onsets"] : ["text"];
  const more = { descriptors: ["strength"], faults: adding ? ["strength"] : ["strength", "certain"] }[ofKind] ?? [];
  const moves = !adding && MOVES.some((group) => group.includes(path)) ? ["move"] : [];
  return ["text", ...more, ...moves];
}

function timed() {
  return value.dataset.note.startsWith("from cue to cue") && value.dataset.from;
}

function toldSeconds(seconds) {
  at("panel-told").textContent = seconds > 0 ? `${seconds.toFixed(2)} s` : "the taste cannot go first";
}

function showLevel() {
  at("o-level").textContent = at("f-level").value;
}

function fill(ofKind, text) {
  at("f-level").value = ofKind === "level" ? text || "5" : "5";
  showLevel();
  at("f-text").value = ofKind === "level" ? "" : text;
  at("l-text").textContent = { seconds: "Seconds", score: "Points", vintage: "Year, or NV", integer: "In figures" }[ofKind] ?? "Words";
  words.completeFor(path);
}

function told() {
  const { said, note, reason, right } = value.dataset;
  const lacks = kind === "seconds" && timed() ? sound.lacks().replace(/\.$/, "") : "";
  const typed = lacks ? `the two cues cannot be moved: ${lacks}; the seconds can be typed` : "";
  const parts = [said ? `said: “${said}”` : "", note, reason ? `${reason}, ${Math.round(right * 100)} % sure` : "", typed];
  return parts.filter(Boolean).join("; ");
}

export function open(element) {
  close();
  value = element;
  ({ path, kind } = element.dataset);
  element.setAttribute("aria-expanded", "true");
  at("panel-name").textContent = element.dataset.name;
  at("panel-told").textContent = told();
  shown(fieldsOf(kind, false));
  fill(kind, element.dataset.edit);
  at("f-strength").value = element.dataset.strength ?? "";
  at("f-certain").checked = !element.dataset.uncertain;
  const group = MOVES.find((each) => each.includes(path)) ?? [];
  option(at("f-move"), [["", "stays"], ...group.filter((each) => each !== path).map((each) => [each, SAID[each]])]);
  at("remove").hidden = !element.classList.contains("value");
  element.closest("p").after(panel);
  panel.hidden = false;
  if (!panel.querySelector("[data-for=onsets]").hidden) {
    onsets.begin(Number(element.dataset.from), Number(element.dataset.to), toldSeconds);
    onsets.draw();
  }
  before = element.classList.contains("value") ? JSON.stringify(asked()) : null;
}

export function openAdding(button) {
  close();
  value = button;
  button.setAttribute("aria-expanded", "true");
  const fields = JSON.parse(button.dataset.open);
  option(at("f-field"), fields.map(([name, text]) => [name, text]));
  at("panel-name").textContent = "Add";
  at("panel-told").textContent = "";
  at("remove").hidden = true;
  at("f-strength").value = "";
  const listed = fields.find((each) => LISTS.includes(each[2]));
  at("f-field").value = (listed ?? fields[0])[0];
  button.closest("p").after(panel);
  panel.hidden = false;
  chooseField();
  at("f-field").focus();
}

function chooseField() {
  const fields = JSON.parse(value.dataset.open);
  [path, , kind] = fields.find((each) => each[0] === at("f-field").value);
  shown(["field", ...fieldsOf(kind, true)]);
  fill(kind, "");
}

// It is known now whether there is sound: what is shown of it is drawn, or the seconds are typed.
export function soundCame() {
  if (panel.hidden || kind !== "seconds" || value.classList.contains("add")) return;
  const entered = panel.contains(document.activeElement);
  open(value);
  if (entered) enter();
}

export function close() {
  if (value) value.setAttribute("aria-expanded", "false");
  words.close();
  panel.hidden = true;
  document.body.append(panel); // out of what is made anew
  value = null;
}

export function enter() {
  const first = [...panel.querySelectorAll("[data-for]")].find((part) => !part.hidden);
  const input = first?.querySelector("input, select, [role=slider]");
  input?.focus();
  if (input?.select && input.type === "text") input.select();
  if (input === at("f-text") && kind === "term") words.ask();
}

function strength() {
  return at("f-strength").value === "" ? null : Number(at("f-strength").value);
}

// The change that the fields ask for.
function asked() {
  const adding = value.classList.contains("add");
  const listed = LISTS.includes(kind);
  const text = kind === "level" ? at("f-level").value : at("f-text").value;
  if (adding) return listed ? { do: "add", path, text, strength: strength() } : { do: "put", path, text };
  if (!panel.querySelector("[data-for=onsets]").hidden) return { do: "onsets", ...onsets.now() };
  if (!listed) return { do: "put", path, text };
  const index = Number(value.dataset.index);
  if (at("f-move").value) return { do: "move", path, index, to: at("f-move").value };
  return { do: "amend", path, index, text, strength: strength(), certain: at("f-certain").checked };
}

panel.addEventListener("submit", async (event) => {
  event.preventDefault();
  const change = asked();
  // a value that was only looked at is right as it stands
  const index = value.dataset.index ? { index: Number(value.dataset.index) } : {};
  await send(JSON.stringify(change) === before ? { do: "accept", path, ...index } : change);
});
at("f-level").addEventListener("input", showLevel);
at("f-field").addEventListener("change", chooseField);
at("leave").addEventListener("click", leave);
at("remove").addEventListener("click", () => {
  const index = Number(value.dataset.index);
  send(LISTS.includes(kind) ? { do: "remove", path, index } : { do: "put", path, text: "" });
});

export function leave() {
  const was = value;
  close();
  was?.focus();
}

panel.addEventListener("keydown", (event) => {
  if (event.key === "Escape") leave();
  else if (event.key === "Enter" && event.target.matches("[role=slider]")) panel.requestSubmit();
});
addEventListener("resize", () => {
  if (!panel.hidden) onsets.draw();
});
