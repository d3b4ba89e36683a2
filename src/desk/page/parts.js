/* Small parts that everything else is made of, and the saving of files. */

export const $ = (id) => document.getElementById(id);

const megabyte = 1024 * 1024;
const { mostMegabytes, mostFrames, mostLights } = document.body.dataset;
export const limits = {
  bytes: Number(mostMegabytes) * megabyte,
  frames: Number(mostFrames),
  lights: Number(mostLights),
};
export const megabytes = (bytes) => `${Math.ceil(bytes / megabyte)} MB`;

export const element = (name, className, text) => {
  const made = document.createElement(name);
  if (className) made.className = className;
  if (text !== undefined) made.textContent = text;
  return made;
};
export const button = (text, act) => {
  const made = element("button", "", text);
  made.type = "button";
  made.addEventListener("click", act);
  return made;
};

/* Part of a page that the desk made: it has escaped what is not its own. */
export const shown = (section) => {
  const made = element("div", "shown");
  made.innerHTML = section;
  return made;
};

/* To who listens instead of looking. */
export const say = (words) => { $("said").textContent = words; };
export const tell = (place, words, isProblem = false) => {
  place.className = isProblem ? "problem" : "figure";
  place.textContent = words;
};
export const capital = (words) => words.charAt(0).toUpperCase() + words.slice(1);

export const save = (name, type, ...parts) => {
  const link = element("a");
  const address = URL.createObjectURL(new Blob(parts, { type }));
  link.href = address;
  link.download = name;
  document.body.append(link);
  link.click();
  link.remove();
  setTimeout(() => URL.revokeObjectURL(address), 10000);
};
/* What a file is called after a photo. */
export const stem = (name) => name.split("/").pop().replace(/\.[^.]*$/, "").replace(/[^\p{L}\p{N}._-]+/gu, "-").slice(0, 60) || "photo";
export const saveReport = (name, answer) => save(`${name}.html`, "text/html", answer.head, answer.section, answer.tail);
export const saveRecords = (name, records) => {
  const ending = records.length > 1 ? "jsonl" : "json";
  save(`${name}.${ending}`, "application/json", ...records.map((record) => `${record}\n`));
};
export const savers = (name, answer, records) => [
  button("Save the report", () => saveReport(name, answer)),
  button(records.length > 1 ? "Save the records (JSON)" : "Save the record (JSON)", () => saveRecords(name, records)),
];
