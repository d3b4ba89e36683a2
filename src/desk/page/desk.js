"use strict";
(() => {
  const $ = (id) => document.getElementById(id);
  const megabyte = 1024 * 1024;
  const most = Number(document.body.dataset.mostMegabytes) * megabyte;
  const mostFrames = Number(document.body.dataset.mostFrames);
  /* Uploads at once: more would only wait in the desk instead of here. */
  const lanes = 3;

  /* Everything that was read is held here and nowhere else. */
  const cards = [];
  const frames = [];
  let kind = "card";
  let number = 0;

  const say = (words) => { $("said").textContent = words; };
  const element = (name, className, text) => {
    const made = document.createElement(name);
    if (className) made.className = className;
    if (text !== undefined) made.textContent = text;
    return made;
  };
  const button = (text, act) => {
    const made = element("button", "", text);
    made.type = "button";
    made.addEventListener("click", act);
    return made;
  };

  /* Whether the desk is there. */
  let gone = false;
  let silences = 0;
  /* What is on its way. A network that fell silent does not end a request by itself. */
  const underWay = new Set();
  const mostSilences = 5;
  const notice = (isGone, words) => {
    silences = isGone ? silences + 1 : 0;
    if (silences >= mostSilences) for (const request of underWay) request.abort();
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
  const away = "The desk does not answer. It was ended, or this device has left its network. What is on this page stays and can be saved; to read more, start mirecast desk again and open the address that it prints.";
  const anew = "The desk was started anew and has another address now. What is on this page stays and can be saved; to read more, open the address that it printed.";
  const beat = async () => {
    try {
      const answer = await fetch("alive", { cache: "no-store", signal: AbortSignal.timeout(5000) });
      notice(!answer.ok, anew);
    } catch {
      notice(true, away);
    }
  };
  const keepListening = async () => {
    if (!document.hidden) await beat();
    setTimeout(keepListening, gone ? 1500 : 3000);
  };
  document.addEventListener("visibilitychange", () => { if (!document.hidden) beat(); });

  /* What goes wrong with one photo, in words. */
  class Refused extends Error {}

  /* Sends with progress, which fetch cannot tell. */
  const send = (where, body, onProgress, signal) => new Promise((resolve, reject) => {
    const request = new XMLHttpRequest();
    request.open("POST", where);
    request.responseType = "text";
    request.upload.addEventListener("progress", (event) => {
      if (event.lengthComputable && onProgress) onProgress(event.loaded / event.total);
    });
    request.addEventListener("load", () => {
      if (request.status === 200) {
        try { resolve(JSON.parse(request.responseText)); } catch { reject(new Refused("The answer could not be read.")); }
      } else {
        reject(new Refused(request.responseText.trim() || `The desk refused it (${request.status}).`));
      }
    });
    request.addEventListener("error", () => { beat(); reject(new Refused("The desk does not answer.")); });
    let stopped = false;
    request.addEventListener("abort", () => reject(new Refused(stopped ? "Stopped." : "The desk does not answer.")));
    request.addEventListener("loadend", () => underWay.delete(request));
    if (signal) signal.addEventListener("abort", () => { stopped = true; request.abort(); });
    underWay.add(request);
    request.send(body);
  });

  const parcel = (photos) => {
    const labels = photos.map((photo) => ({
      name: photo.name,
      bytes: photo.file.size,
      ...(photo.shotAt ? { shot_at: photo.shotAt } : {}),
      ...(photo.called ? { called: photo.called } : {}),
    }));
    return new Blob([JSON.stringify(labels), "\n", ...photos.map((photo) => photo.file)]);
  };

  const save = (name, type, ...parts) => {
    const link = element("a");
    const address = URL.createObjectURL(new Blob(parts, { type }));
    link.href = address;
    link.download = name;
    document.body.append(link);
    link.click();
    link.remove();
    setTimeout(() => URL.revokeObjectURL(address), 10000);
  };
  const stem = (name) => name.split("/").pop().replace(/\.[^.]*$/, "").replace(/[^\p{L}\p{N}._-]+/gu, "-").slice(0, 60) || "photo";
  const page = (answer) => [answer.head, answer.section, answer.tail];
  const savers = (name, answer, records) => [
    button("Save the report", () => save(`${name}.html`, "text/html", ...page(answer))),
    button("Save the record (JSON)", () => save(`${name}.${records.length > 1 ? "jsonl" : "json"}`, "application/json", ...records.map((record) => `${record}\n`))),
  ];

  /* The queue: a few at a time, each told by its own line. */
  const queue = [];
  let running = 0;
  let total = 0;
  let done = 0;
  let failed = 0;
  let stopping = new AbortController();
  const wordsOf = () => {
    $("progress").hidden = total === 0;
    $("progress-bar").max = Math.max(total, 1);
    $("progress-bar").value = done;
    const problems = failed ? `, ${failed} could not be read` : "";
    $("progress-words").textContent = `${done} of ${total} done${problems}`;
    $("progress-title").textContent = done < total ? "Being read" : "Read";
    $("stop").hidden = done >= total;
  };
  const settle = () => {
    if (running || queue.length) return;
    say(`${done} of ${total} done${failed ? `, ${failed} could not be read` : ""}.`);
    if (frames.some((frame) => !frame.grouped)) group();
    if (!failed) setTimeout(() => { if (!running && !queue.length) { total = done = 0; $("queue").replaceChildren(); wordsOf(); } }, 1500);
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
          job.line.classList.add("failed");
          job.state.textContent = error instanceof Refused ? error.message : "The page stumbled over it.";
        },
      ).finally(() => {
        running -= 1;
        done += 1;
        wordsOf();
        pump();
        settle();
      });
    }
  };
  const enqueue = (name, work) => {
    if (!running && !queue.length) {
      total = done = failed = 0;
      stopping = new AbortController();
      $("queue").replaceChildren();
    }
    const line = element("li");
    const state = element("span", "state", "waits");
    line.append(element("bdi", "", name), state);
    $("queue").append(line);
    total += 1;
    queue.push({ line, state, work });
    wordsOf();
    pump();
  };
  $("stop").addEventListener("click", () => {
    for (const job of queue.splice(0)) { job.line.remove(); total -= 1; }
    stopping.abort();
    /* What is added from now on is stopped by the next press. */
    stopping = new AbortController();
    wordsOf();
  });

  const sized = (file) => {
    if (file.size > most) throw new Refused(`Larger than ${most / megabyte} MB.`);
    if (file.size === 0) throw new Refused("The file is empty.");
  };

  /* Cards. */
  const readCard = async (card, progress, signal) => {
    sized(card.file);
    card.answer = await send("card", parcel([card]), progress, signal);
    card.record = JSON.parse(card.answer.record);
    showCard(card);
  };
  const showCard = (card) => {
    if (!card.place) {
      card.place = element("div", "result");
      card.place.id = `card-${card.number}`;
      card.strip = element("div", "strip");
      card.shown = element("div", "shown");
      card.after = element("div", "after buttons");
      card.place.append(card.strip, card.shown, card.after);
      card.strip.append(ask(card));
      $("cards").querySelector(".results").prepend(card.place);
      cards.push(card);
    }
    card.shown.innerHTML = card.answer.section;
    for (const named of card.shown.querySelectorAll("[id]")) named.id = `card-${card.number}-${named.id}`;
    const { record } = card;
    const unknown = record.status === "residual-only";
    const stated = card.shotAt;
    card.strip.hidden = record.status === "failed";
    card.strip.classList.toggle("urgent", unknown);
    card.strip.querySelector("option").textContent = unknown ? "choose one" : "what the file says";
    card.strip.querySelector(".question").textContent = unknown
      ? "The light is not known yet, because the file does not say what the camera was set to. Which white balance was the camera set to?"
      : stated
        ? "Read as shot at the balance that you gave. Was it another?"
        : "Was the camera set to another white balance than the file says?";
    card.after.replaceChildren(
      ...savers(`card-${stem(card.name)}`, card.answer, [card.answer.record]),
      button("Take it away", () => {
        card.place.remove();
        cards.splice(cards.indexOf(card), 1);
        offer();
        $("files-button").focus();
      }),
    );
    $("cards").hidden = false;
    const verdict = card.shown.querySelector(".verdict")?.innerText ?? "";
    say(`${card.name}: ${verdict}`);
    offer();
  };
  const ask = (card) => {
    const form = $("ask").content.firstElementChild.cloneNode(true);
    const status = form.querySelector("[role=status]");
    const kelvin = form.querySelector(".kelvin");
    const { balance } = form.elements;
    const again = async () => {
      if (!balance.value && card.record.status === "residual-only") {
        status.className = "problem";
        status.textContent = "Choose the balance that the camera was set to.";
        return;
      }
      const chosen = balance.value === "kelvin" ? `${form.elements.kelvin.value}K` : balance.value;
      const before = card.shotAt;
      card.shotAt = chosen;
      card.place.setAttribute("aria-busy", "true");
      status.className = "figure";
      status.textContent = "Reading again";
      try {
        await readCard(card);
        status.textContent = "";
      } catch (error) {
        card.shotAt = before;
        status.className = "problem";
        status.textContent = error.message;
      } finally {
        card.place.removeAttribute("aria-busy");
      }
    };
    balance.addEventListener("change", () => { kelvin.hidden = balance.value !== "kelvin"; });
    form.addEventListener("submit", (event) => { event.preventDefault(); again(); });
    return form;
  };

  /* Set-ups. */
  const offer = () => {
    const usable = cards.filter((card) => card.record.light);
    $("cards").hidden = cards.length === 0;
    $("all-cards").hidden = cards.length < 2;
    $("compare").hidden = usable.length === 0;
    const form = $("compare-form");
    for (const [select, preferred] of [[form.elements.first, 0], [form.elements.second, 1]]) {
      const kept = select.value;
      select.replaceChildren(...usable.map((card) => {
        const option = element("option", "", `${card.name}, ${Math.round(card.record.light.cct_kelvin / 10) * 10} K`);
        option.value = String(card.number);
        return option;
      }));
      const wanted = usable.find((card) => String(card.number) === kept) ?? usable[preferred] ?? usable[0];
      if (wanted) select.value = String(wanted.number);
    }
    if (usable.length > 1 && form.elements.first.value === form.elements.second.value) {
      form.elements.second.value = String(usable.find((card) => String(card.number) !== form.elements.first.value).number);
    }
    form.querySelector("[type=submit]").disabled = usable.length < 2;
    $("compare-words").textContent = usable.length < 2 ? "Give a photo of the card in the second light." : "";
  };
  const compare = async () => {
    const form = $("compare-form");
    const chosen = [form.elements.first, form.elements.second]
      .map((select) => cards.find((card) => String(card.number) === select.value));
    const words = $("compare-words");
    if (chosen.includes(undefined) || chosen[0] === chosen[1]) {
      words.textContent = "Choose two different photos.";
      return;
    }
    words.textContent = "Comparing";
    try {
      const answer = await send("setups", parcel(chosen));
      words.textContent = "";
      const place = $("setups").querySelector(".results");
      const after = element("p", "after buttons panel");
      after.append(...savers("set-ups", answer, [answer.record]));
      const shown = element("div", "shown");
      shown.innerHTML = answer.section;
      place.replaceChildren(element("h2", "", "The two set-ups"), shown, after);
      $("setups").hidden = false;
      $("setups").focus({ preventScroll: true });
      $("setups").scrollIntoView({ block: "start" });
      say("The set-ups are compared.");
    } catch (error) {
      words.textContent = error.message;
    }
  };
  $("compare-form").addEventListener("submit", (event) => { event.preventDefault(); compare(); });

  /* Frames. */
  const readFrame = async (frame, progress, signal) => {
    sized(frame.file);
    frame.sealed = await send("frame", parcel([frame]), progress, signal);
    frame.file = null;
    frames.push(frame);
    const { error } = JSON.parse(frame.sealed.record);
    if (error) throw new Refused(error.message);
  };
  let round = 0;
  const group = async () => {
    round += 1;
    const own = round;
    frames.sort((a, b) => a.number - b.number);
    frames.forEach((frame) => { frame.grouped = true; });
    const place = $("frames").querySelector(".results");
    try {
      const body = new Blob([JSON.stringify({ frames: frames.map((frame) => frame.sealed) })]);
      const answer = await send("frames", body);
      /* More frames have come since, or all were taken away: that answer counts. */
      if (own !== round) return;
      const shown = element("div", "shown");
      shown.innerHTML = answer.section;
      const after = element("p", "after buttons panel");
      after.append(
        ...savers("frames", answer, answer.records),
        button("Take them away", () => { round += 1; frames.length = 0; place.replaceChildren(); $("frames").hidden = true; }),
      );
      place.replaceChildren(element("h2", "", frames.length === 1 ? "One picture" : `${frames.length} pictures`), shown, after);
      $("frames").hidden = false;
      /* The report's own script finds its controls when it is run. */
      const script = element("script");
      script.src = "report.js";
      place.append(script);
      say(`${frames.length} pictures are checked and grouped.`);
    } catch (error) {
      if (own !== round) return;
      place.replaceChildren(element("p", "panel problem", error.message), button("Try again", group));
      $("frames").hidden = false;
    }
  };

  /* What comes in. */
  const isPicture = (name) => /\.(jpe?g|png|tiff?|webp|dng|cr[23w]|nef|nrw|arw|sr[2fw]|raf|orf|rw[2l]|pef|iiq|3fr|erf|mrw|kdc|dcr|mef|mos|x3f|ari|fff)$/i.test(name);
  const take = (given, fromFolder) => {
    let files = fromFolder
      ? given.filter(({ name }) => isPicture(name) && !name.split("/").some((part) => part.startsWith(".")))
      : given;
    if (!files.length) {
      say("There is no picture in it.");
      $("progress").hidden = false;
      $("progress-words").textContent = "There is no picture in it.";
      return;
    }
    const room = kind === "frame" ? mostFrames - frames.length - queue.length - running : files.length;
    const left = Math.max(0, files.length - room);
    files = files.slice(0, room);
    const chosen = kind;
    for (const { file, name } of files) {
      number += 1;
      const photo = { file, name, number, shotAt: "" };
      const read = chosen === "card" ? readCard : readFrame;
      enqueue(name, (progress, signal) => read(photo, progress, signal));
    }
    if (left) $("progress-words").textContent = `${left} pictures were left out: ${mostFrames} are the most at once.`;
  };
  const named = (file) => ({ file, name: file.webkitRelativePath || file.name });

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
    if (!whole) say("The folder could not be read whole.");
    found.sort((a, b) => a.name.localeCompare(b.name, undefined, { numeric: true }));
    /* A folder of many pictures is a shoot; somebody who meant cards has said so. */
    take(found, true);
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

  const choose = (value) => {
    kind = value;
    for (const part of $("intake").querySelectorAll("[data-for]")) part.hidden = part.dataset.for !== kind;
  };
  for (const radio of document.getElementsByName("kind")) {
    radio.addEventListener("change", () => choose(radio.value));
    if (radio.checked) choose(radio.value);
  }
  for (const opener of document.querySelectorAll("[data-opens]")) {
    if (opener.dataset.opens === "files") opener.id = "files-button";
    opener.addEventListener("click", () => $(opener.dataset.opens).click());
  }
  for (const id of ["files", "camera", "folder"]) {
    $(id).addEventListener("change", (event) => {
      take([...event.target.files].map(named), id === "folder");
      event.target.value = "";
    });
  }
  $("second").addEventListener("change", async (event) => {
    const [file] = event.target.files;
    event.target.value = "";
    if (!file) return;
    number += 1;
    const card = { file, name: file.name, number, shotAt: "" };
    enqueue(file.name, async (progress, signal) => {
      await readCard(card, progress, signal);
      if (card.record.light) {
        $("compare-form").elements.second.value = String(card.number);
        await compare();
      } else {
        $("compare-words").textContent = "The light of the second photo is not known: see what is asked about it above.";
      }
    });
  });
  document.querySelector("[data-saves=cards-json]").addEventListener("click", () => {
    const inOrder = [...cards].sort((a, b) => a.number - b.number);
    save("cards.jsonl", "application/json", ...inOrder.map((card) => `${card.answer.record}\n`));
  });
  /* What is only in this page would be lost. */
  window.addEventListener("beforeunload", (event) => { if (running || queue.length) event.preventDefault(); });
  keepListening();
})();
