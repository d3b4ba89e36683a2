/* The queue of photos: a few at a time, each told by its own line. One that fails holds up no other. */
import { $, element } from "./parts.js";
import { Refused, Unsent } from "./line.js";

/* Uploads at once: more would only wait in the desk instead of here. */
const lanes = 3;
const queue = [];
let running = 0;
let total = 0;
let done = 0;
let failed = 0;
let lost = [];
let stopping = new AbortController();
let onSettled = () => {};

/* How many are still to come. */
export const pending = () => queue.length + running;
/* Whether it is about one photo alone. */
export const isOne = () => total === 1;
export const whenSettled = (act) => { onSettled = act; };

const show = () => {
  $("progress").hidden = total === 0;
  $("progress-bar").max = Math.max(total, 1);
  $("progress-bar").value = done;
  const problems = failed ? `, ${failed} could not be read` : "";
  $("progress-words").textContent = `${done} of ${total} done${problems}`;
  $("progress-title").textContent = done < total ? "Being read" : "Read";
  $("stop").hidden = done >= total;
  $("again").hidden = done < total || !lost.length;
};
export const note = (words) => { $("progress-words").textContent = words; };
const settle = () => {
  if (pending()) return;
  onSettled();
  if (!failed) setTimeout(() => { if (!pending()) { total = done = 0; $("queue").replaceChildren(); show(); } }, 1500);
};
const pump = () => {
  while (running < lanes && queue.length) {
    const job = queue.shift();
    running += 1;
    job.state.textContent = "sending";
    const progress = (part) => { job.state.textContent = part < 1 ? `${Math.round(part * 100)} % sent` : "being read"; };
    job.work(progress, stopping.signal).then(
      () => { job.line.remove(); },
      (error) => {
        failed += 1;
        if (error instanceof Unsent) lost.push(job);
        job.line.classList.add("failed");
        job.state.textContent = error instanceof Refused ? error.message : "The page stumbled over it.";
      },
    ).finally(() => {
      running -= 1;
      done += 1;
      show();
      pump();
      settle();
    });
  }
};

/* `work` is asynchronous: it gets what tells its progress, and the signal that stops it. */
export const enqueue = (name, work) => {
  if (!pending()) {
    total = done = failed = 0;
    lost = [];
    $("queue").replaceChildren();
  }
  const line = element("li");
  const state = element("span", "state", "waits");
  line.append(element("bdi", "", name), state);
  $("queue").append(line);
  total += 1;
  queue.push({ name, line, state, work });
  show();
  pump();
};
$("again").addEventListener("click", () => {
  for (const { name, work } of lost.splice(0)) enqueue(name, work);
  $("stop").focus();
});
$("stop").addEventListener("click", () => {
  for (const job of queue.splice(0)) { job.line.remove(); total -= 1; }
  stopping.abort();
  /* What is added from now on is stopped by the next press. */
  stopping = new AbortController();
  show();
  settle();
});
