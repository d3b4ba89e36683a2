/* What comes in: files that are dropped, chosen or taken with the camera. */
import { $, limits, say } from "./parts.js";
import { keepListening } from "./line.js";
import { enqueue, note, pending } from "./queue.js";
import { readCard } from "./cards.js";
import { compareWith } from "./setups.js";
import { frames, readFrame } from "./frames.js";

/* More photos of cards than this at once are more likely pictures of a shoot: it is asked. */
const manyCards = 8;
let kind = "card";
let number = 0;

const choose = (value) => {
  kind = value;
  for (const part of $("intake").querySelectorAll("[data-for]")) part.hidden = part.dataset.for !== kind;
};
const photoOf = ({ file, name }) => {
  number += 1;
  return { file, name, number, shotAt: "" };
};
const named = (file) => ({ file, name: file.webkitRelativePath || file.name });

const { endings, kinds } = $("files").dataset;
const isPicture = (name) => endings.split(",").some((ending) => name.toLowerCase().endsWith(ending));
const isHidden = (name) => name.split("/").some((part) => part.startsWith("."));
const take = (given, fromFolder, isSure = false) => {
  let files = fromFolder ? given.filter(({ name }) => isPicture(name) && !isHidden(name)) : given;
  $("which").hidden = true;
  if (!files.length) {
    tellWhich(`There is no picture in it: ${kinds} are read.`);
    return;
  }
  if (kind === "card" && !isSure && files.length > manyCards) {
    askWhich(files);
    return;
  }
  const room = kind === "frame" ? limits.frames - frames.length - pending() : files.length;
  const left = Math.max(0, files.length - room);
  files = files.slice(0, Math.max(0, room));
  const read = kind === "card" ? readCard : readFrame;
  for (const photo of files.map(photoOf)) enqueue(photo.name, (progress, signal) => read(photo, progress, signal));
  if (left) {
    const words = `${left} pictures were left out: ${limits.frames} are the most at once.`;
    note(words);
    say(words);
  }
};

/* Which kind they are, where that may have been forgotten. */
let waiting = [];
const tellWhich = (words, isAsked = false) => {
  $("which").hidden = false;
  $("which-words").textContent = words;
  $("which").querySelector(".buttons").hidden = !isAsked;
  say(words);
};
const askWhich = (files) => {
  waiting = files;
  tellWhich(`These are ${files.length} pictures. What are they?`, true);
  $("which").querySelector("button").focus();
};
for (const answer of document.querySelectorAll("[data-takes]")) {
  answer.addEventListener("click", () => {
    const { takes } = answer.dataset;
    const files = waiting;
    waiting = [];
    $("which").hidden = true;
    $("files-button").focus();
    if (!takes) return;
    document.querySelector(`[name=kind][value=${takes}]`).checked = true;
    choose(takes);
    take(files, false, true);
  });
}

/* Files and folders that are dropped. */
const entriesOf = (reader) => new Promise((resolve, reject) => reader.readEntries(resolve, reject));
/* One file that cannot be opened costs itself only; whether there was none. */
const walk = async (entry, found) => {
  let whole = true;
  if (entry.isFile) {
    const file = await new Promise((resolve) => entry.file(resolve, () => resolve(null)));
    if (!file) return false;
    found.push({ file, name: entry.fullPath.replace(/^\//, "") });
  } else if (entry.isDirectory) {
    const reader = entry.createReader();
    for (let some = await entriesOf(reader); some.length; some = await entriesOf(reader)) {
      for (const inner of some) whole = await walk(inner, found) && whole;
    }
  }
  return whole;
};
const dropped = async (transfer) => {
  const entries = [...transfer.items].map((item) => item.webkitGetAsEntry?.()).filter(Boolean);
  const loose = [...transfer.files];
  if (!entries.some((entry) => entry.isDirectory)) {
    take(loose.map(named), false);
    return;
  }
  const found = [];
  let whole = true;
  for (const entry of entries) whole = await walk(entry, found).catch(() => false) && whole;
  found.sort((a, b) => a.name.localeCompare(b.name, undefined, { numeric: true }));
  take(found, true);
  if (!whole) say("The folder could not be read whole.");
};
let depth = 0;
const drop = $("drop");
const carriesFiles = (event) => [...event.dataTransfer.types].includes("Files");
document.addEventListener("dragenter", (event) => {
  if (!carriesFiles(event)) return;
  event.preventDefault();
  depth += 1;
  drop.classList.add("over");
});
document.addEventListener("dragleave", () => {
  depth = Math.max(0, depth - 1);
  if (!depth) drop.classList.remove("over");
});
document.addEventListener("dragover", (event) => { if (carriesFiles(event)) event.preventDefault(); });
document.addEventListener("drop", (event) => {
  if (!carriesFiles(event)) return;
  event.preventDefault();
  depth = 0;
  drop.classList.remove("over");
  dropped(event.dataTransfer);
});

/* Files that are chosen. */
for (const radio of document.getElementsByName("kind")) {
  radio.addEventListener("change", () => choose(radio.value));
  if (radio.checked) choose(radio.value);
}
for (const opener of document.querySelectorAll("[data-opens]")) {
  opener.addEventListener("click", () => $(opener.dataset.opens).click());
}
for (const id of ["files", "camera", "folder"]) {
  $(id).addEventListener("change", (event) => {
    take([...event.target.files].map(named), id === "folder");
    event.target.value = "";
  });
}
$("second").addEventListener("change", (event) => {
  const [file] = event.target.files;
  event.target.value = "";
  if (!file) return;
  const card = photoOf(named(file));
  enqueue(card.name, async (progress, signal) => {
    await readCard(card, progress, signal);
    await compareWith(card);
  });
});

/* What is only in this page would be lost. */
window.addEventListener("beforeunload", (event) => { if (pending()) event.preventDefault(); });
keepListening();
