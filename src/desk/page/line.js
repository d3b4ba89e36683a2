/* The line to the desk: what is sent, and whether anybody is there. */
import { $, limits, megabytes } from "./parts.js";

/* What goes wrong with one photo, in words. */
export class Refused extends Error {}
/* The line failed, not the photo. */
export class Unsent extends Refused {}
const unsent = () => new Unsent("The desk does not answer.");

const away = "The desk does not answer. It was ended, or this device has left its network. What is on this page stays and can be saved; to read more, start mirecast desk again and open the address that it prints.";
const anew = "The desk was started anew and has another address now. What is on this page stays and can be saved; to read more, open the address that it printed.";

let gone = false;
/* When the desk last gave a sign. An upload that moves is one: it may fill the line alone. */
let lastSign = Date.now();
const alive = () => { lastSign = Date.now(); };
const silence = () => Date.now() - lastSign;
/* What is on its way. A network that fell silent does not end a request by itself. */
const underWay = new Set();
const patience = { word: 8000, request: 20000 };

const notice = (isGone, words) => {
  const banner = $("gone");
  if (isGone) {
    banner.className = "banner";
    banner.textContent = words;
    banner.hidden = false;
  } else if (gone) {
    banner.className = "banner back";
    banner.textContent = "The desk answers again.";
    setTimeout(() => { if (!gone) banner.hidden = true; }, 4000);
  }
  gone = isGone;
};
const beat = async () => {
  try {
    const answer = await fetch("alive", { cache: "no-store", signal: AbortSignal.timeout(5000) });
    alive();
    notice(!answer.ok, anew);
  } catch (error) {
    /* A line that is only busy answers late; one that is gone refuses at once. */
    if (error.name !== "TimeoutError" || silence() > patience.word) notice(true, away);
  }
  if (gone && silence() > patience.request) for (const request of underWay) request.abort();
};
export const keepListening = async () => {
  if (!document.hidden) await beat();
  setTimeout(keepListening, gone ? 1500 : 3000);
};
document.addEventListener("visibilitychange", () => { if (!document.hidden) beat(); });

/* Sends with progress, which fetch cannot tell. */
export const send = (where, body, onProgress, signal) => new Promise((resolve, reject) => {
  const request = new XMLHttpRequest();
  let stopped = false;
  request.open("POST", where);
  request.responseType = "text";
  request.upload.addEventListener("progress", (event) => {
    alive();
    if (event.lengthComputable && onProgress) onProgress(event.loaded / event.total);
  });
  request.addEventListener("load", () => {
    alive();
    if (request.status === 200) {
      try { resolve(JSON.parse(request.responseText)); } catch { reject(new Refused("The answer could not be read.")); }
    } else {
      reject(new Refused(request.responseText.trim() || `The desk refused it (${request.status}).`));
    }
  });
  request.addEventListener("error", () => { beat(); reject(unsent()); });
  request.addEventListener("abort", () => reject(stopped ? new Refused("Stopped.") : unsent()));
  request.addEventListener("loadend", () => underWay.delete(request));
  if (signal) signal.addEventListener("abort", () => { stopped = true; request.abort(); });
  underWay.add(request);
  request.send(body);
});
export const sendJson = (where, what) => send(where, new Blob([JSON.stringify(what)]));

/* Photos as the desk takes them: a line that says what they are, then their bytes. */
export const parcel = (photos) => {
  const labels = photos.map((photo) => ({
    name: photo.name,
    bytes: photo.file.size,
    ...(photo.shotAt ? { shot_at: photo.shotAt } : {}),
    ...(photo.called ? { called: photo.called } : {}),
  }));
  return new Blob([JSON.stringify(labels), "\n", ...photos.map((photo) => photo.file)]);
};
export const sendPhoto = (where, photo, onProgress, signal) => {
  const { size } = photo.file;
  if (size > limits.bytes) throw new Refused(`Too large: ${megabytes(size)}, and ${megabytes(limits.bytes)} are the most. Give a smaller copy, or the camera's JPEG.`);
  if (size === 0) throw new Refused("The file is empty. Copy it from the camera again.");
  return send(where, parcel([photo]), onProgress, signal);
};
