"use strict";
(() => {
  const $ = (id) => document.getElementById(id);
  const megabyte = 1024 * 1024;
  const most = Number(document.body.dataset.mostMegabytes) * megabyte;
  const mostFrames = Number(document.body.dataset.mostFrames);
  const mostLights = Number(document.body.dataset.mostLights);
  /* More photos of cards than this at once are more likely pictures of a shoot: it is asked. */
  const manyCards = 8;
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

  /* Whether the desk is there. An upload that moves says so too: it may fill the line alone. */
  let gone = false;
  let lastSign = 0;
  const alive = () => { lastSign = Date.now(); };
  const silence = () => Date.now() - lastSign;
  const under = new Set();
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
  const away = "The desk does not answer. It was ended, or this device has left its network. What is on this page stays and can be saved; to read more, start mirecast desk again and open the address that it prints.";
  const anew = "The desk was started anew and has another address now. What is on this page stays and can be saved; to read more, open the address that it printed.";
  const beat = async () => {
    try {
      const answer = await fetch("alive", { cache: "no-store", signal: AbortSignal.timeout(5000) });
      notice(!answer.ok, anew);
    } catch {
      if (silence() > 8000) notice(true, away);
    }
    /* What hangs would hold up the rest for as long as the network pleases. */
    if (gone && silence() > 20000) under.forEach((request) => { request.lost = true; request.abort(); });
  };
  const keepListening = async () => {
    if (!document.hidden) await beat();
    setTimeout(keepListening, gone ? 1500 : 3000);
  };
  document.addEventListener("visibilitychange", () => { if (!document.hidden) beat(); });

  /* What goes wrong with one photo, in words. */
  class Refused extends Error {}
  /* The line to the desk failed, not the photo. */
  class Unsent extends Refused {}
  const unsent = () => new Unsent("The desk does not answer.");

  /* Sends with progress, which fetch cannot tell. */
  const send = (where, body, onProgress, signal) => new Promise((resolve, reject) => {
    const request = new XMLHttpRequest();
    request.open("POST", where);
    request.responseType = "text";
    under.add(request);
    request.addEventListener("loadend", () => under.delete(request));
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
    request.addEventListener("error", () => { lastSign = 0; beat(); reject(unsent()); });
    request.addEventListener("abort", () => reject(request.lost ? unsent() : new Refused("Stopped.")));
    if (signal?.aborted) { reject(new Refused("Stopped.")); return; }
    if (signal) signal.addEventListener("abort", () => request.abort());
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
    button(records.length > 1 ? "Save the records (JSON)" : "Save the record (JSON)", () => save(`${name}.${records.length > 1 ? "jsonl" : "json"}`, "application/json", ...records.map((record) => `${record}\n`))),
  ];

  /* The queue: a few at a time, each told by its own line. */
  const queue = [];
  let running = 0;
  let total = 0;
  let done = 0;
  let failed = 0;
  let lost = [];
  let stopping = new AbortController();
  const wordsOf = () => {
    $("progress").hidden = total === 0;
    $("progress-bar").max = Math.max(total, 1);
    $("progress-bar").value = done;
    const problems = failed ? `, ${failed} could not be read` : "";
    $("progress-words").textContent = `${done} of ${total} done${problems}`;
    $("progress-title").textContent = done < total ? "Being read" : "Read";
    $("stop").hidden = done >= total;
    $("again").hidden = done < total || !lost.length;
  };
  const settle = () => {
    if (running || queue.length) return;
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
          if (error instanceof Unsent) lost.push(job);
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
      lost = [];
      stopping = new AbortController();
      $("queue").replaceChildren();
    }
    const line = element("li");
    const state = element("span", "state", "waits");
    line.append(element("bdi", "", name), state);
    $("queue").append(line);
    total += 1;
    queue.push({ name, line, state, work });
    wordsOf();
    pump();
  };
  $("again").addEventListener("click", () => {
    for (const { name, work } of lost.splice(0)) enqueue(name, work);
    $("stop").focus();
  });
  $("stop").addEventListener("click", () => {
    for (const job of queue.splice(0)) { job.line.remove(); total -= 1; }
    stopping.abort();
    stopping = new AbortController();
    wordsOf();
    settle();
  });

  const capital = (words) => words.charAt(0).toUpperCase() + words.slice(1);
  const sized = (file) => {
    if (file.size > most) throw new Refused(`Too large: ${Math.ceil(file.size / megabyte)} MB, and ${most / megabyte} MB are the most. Give a smaller copy, or the camera's JPEG.`);
    if (file.size === 0) throw new Refused("The file is empty. Copy it from the camera again.");
  };

  /* Cards. */
  const readCard = async (card, progress, signal) => {
    sized(card.file);
    card.answer = await send("card", parcel([card]), progress, signal);
    card.record = JSON.parse(card.answer.record);
    showCard(card);
  };
  const showCard = (card) => {
    const isNew = !card.place;
    if (isNew) {
      card.place = element("div", "result");
      card.place.id = `card-${card.number}`;
      card.strip = element("div", "strip");
      card.shown = element("div", "shown");
      card.after = element("div", "after");
      card.place.append(card.strip, card.shown, card.after);
      card.strip.append(ask(card));
      $("cards").querySelector(".results").prepend(card.place);
      cards.push(card);
    }
    card.shown.innerHTML = card.answer.section;
    for (const named of card.shown.querySelectorAll("[id]")) named.id = `card-${card.number}-${named.id}`;
    const { record } = card;
    const unknown = record.status === "residual-only";
    const automatic = record.card?.problems.some(({ code }) => code === "auto-balance");
    /* The balance says nothing about a photo that has no colour to read. */
    card.strip.hidden = record.status === "failed" || record.status === "refused";
    card.strip.classList.toggle("urgent", unknown);
    card.strip.querySelector("option").textContent = unknown ? "choose one" : "what the file says";
    for (const option of card.strip.querySelectorAll("[value=automatic]")) option.hidden = option.disabled = !unknown;
    card.strip.querySelector(".question").textContent = !unknown
      ? card.shotAt
        ? "Read as shot at the balance that you gave. Was it another?"
        : "Was the camera set to another white balance than the file says?"
      : automatic
        ? "The light is not known, because the camera balanced by itself. If it was set to a fixed balance after all: which white balance was the camera set to?"
        : "The light is not known yet, because the file does not say what the camera was set to. Which white balance was the camera set to?";
    const buttons = element("div", "buttons");
    buttons.append(
      ...savers(`card-${stem(card.name)}`, card.answer, [card.answer.record]),
      button("Take it away", () => {
        card.place.remove();
        cards.splice(cards.indexOf(card), 1);
        offer();
        $("files-button").focus();
      }),
    );
    card.after.replaceChildren(buttons);
    if (record.status !== "failed") card.after.append(grader(`corrections-${stem(card.name)}`, () => ({ cards: [card.answer.sealed] })));
    $("cards").hidden = false;
    /* One photo alone is what somebody waits for. */
    if (isNew && total === 1) card.place.scrollIntoView({ block: "start" });
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
      if (balance.value === "automatic") {
        status.className = "figure";
        status.textContent = "Then no photo of this card can say which light it was; only the card's colour is known. Set the camera to a preset or a kelvin number and photograph the card again. A custom balance can be set from this one all the same.";
        return;
      }
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

  /* Corrections of what was read, which `sealed` gives. */
  const grader = (name, sealed, ofFrames = false) => {
    const place = $("grade").content.firstElementChild.cloneNode(true);
    const form = place.querySelector("form");
    const status = place.querySelector("[role=status]");
    const made = place.querySelector(".made");
    for (const part of place.querySelectorAll(ofFrames ? ".for-cards" : ".for-frames")) part.remove();
    const { footage, strength, each } = form.elements;
    const make = async () => {
      status.className = "figure";
      status.textContent = "Making them";
      const wanted = { footage: footage.value, strength: strength.value, each_frame: each?.value === "frame", ...sealed() };
      try {
        const answer = await send("corrections", new Blob([JSON.stringify(wanted)]));
        const shown = element("div", "shown");
        shown.innerHTML = answer.section;
        const buttons = element("div", "buttons");
        if (answer.zip) {
          const bytes = Uint8Array.from(atob(answer.zip), (letter) => letter.charCodeAt(0));
          const saver = button(`Save the ${answer.files} files (ZIP)`, () => save(`${name}.zip`, "application/zip", bytes));
          saver.className = "first";
          buttons.append(saver, button("Save the records with them (JSON)", () => save(`${name}.jsonl`, "application/json", ...answer.records.map((record) => `${record}\n`))));
        }
        made.replaceChildren(shown, buttons);
        status.textContent = answer.zip ? `${answer.files} files are ready to be saved.` : "No correction could be made: see why below.";
      } catch (error) {
        made.replaceChildren();
        status.className = "problem";
        status.textContent = error.message;
      }
    };
    form.addEventListener("submit", (event) => { event.preventDefault(); make(); });
    /* What was made no longer is what is chosen. */
    form.addEventListener("change", () => { made.replaceChildren(); status.textContent = ""; });
    return place;
  };

  /* Set-ups. */
  const ordinals = ["First", "Second", "Third", "Fourth", "Fifth", "Sixth"];
  const lights = () => [...$("compare-form").querySelectorAll("select")];
  let compared = [];
  const offer = () => {
    const usable = cards.filter((card) => card.record.light);
    $("cards").hidden = cards.length === 0;
    gather();
    $("compare").hidden = usable.length === 0;
    for (const select of lights().slice(Math.max(2, usable.length))) select.closest(".light").remove();
    const taken = new Set();
    for (const select of lights()) {
      const kept = select.value;
      select.replaceChildren(...usable.map((card) => {
        const option = element("option", "", `${card.name}, ${Math.round(card.record.light.cct_kelvin / 10) * 10} K`);
        option.value = String(card.number);
        return option;
      }));
      const free = usable.filter((card) => !taken.has(card));
      const wanted = free.find((card) => String(card.number) === kept) ?? free[0] ?? usable[0];
      if (wanted) select.value = String(wanted.number);
      taken.add(wanted);
      suggest(select);
    }
    $("compare-form").querySelector("[type=submit]").disabled = usable.length < 2;
    $("one-more").hidden = lights().length >= Math.min(usable.length, mostLights);
    const stale = compared.some(([card, answer]) => cards.includes(card) && card.answer !== answer);
    $("compare-words").textContent = usable.length < 2
      ? "Give a photo of the card in the second light."
      : stale ? "A photo was read again since: compare again." : "";
  };
  const cardOf = (select) => cards.find((card) => String(card.number) === select.value);
  const nameOf = (select) => select.closest(".light").querySelector("input");
  const suggest = (select) => { nameOf(select).value = cardOf(select)?.called ?? ""; };
  const oneMore = () => {
    const ordinal = ordinals[lights().length];
    const light = $("light").content.firstElementChild.cloneNode(true);
    light.querySelector("[data-ordinal]").prepend(`${ordinal} light`);
    const [select, name] = [light.querySelector("select"), light.querySelector("input")];
    select.name = ordinal.toLowerCase();
    name.name = `${select.name}-name`;
    name.setAttribute("aria-label", `Name of the ${select.name} light`);
    select.addEventListener("change", () => suggest(select));
    name.addEventListener("change", () => {
      const card = cardOf(select);
      if (card) card.called = name.value.trim() || undefined;
    });
    $("lights").append(light);
    return select;
  };
  oneMore();
  oneMore();
  $("one-more").addEventListener("click", () => {
    const select = oneMore();
    offer();
    select.focus();
  });
  const compare = async () => {
    const chosen = lights().map(cardOf);
    const words = $("compare-words");
    if (chosen.includes(undefined) || new Set(chosen).size < chosen.length) {
      words.textContent = "Choose a different photo for each light.";
      return;
    }
    const size = chosen.reduce((sum, card) => sum + card.file.size, 0);
    if (size > most) {
      words.textContent = `Too large together: ${most / megabyte} MB are the most. Compare fewer, or the camera's JPEGs.`;
      return;
    }
    const answers = chosen.map((card) => [card, card.answer]);
    words.textContent = "Comparing";
    try {
      const answer = await send("setups", parcel(chosen));
      words.textContent = "";
      compared = answers;
      const place = $("setups").querySelector(".results");
      const after = element("div", "buttons panel");
      after.append(...savers("set-ups", answer, [answer.record]));
      const shown = element("div", "shown");
      shown.innerHTML = answer.section;
      place.replaceChildren(element("h2", "", `${chosen.length} set-ups`), shown, after);
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
    const { error } = JSON.parse(frame.sealed.shown.record);
    if (error) throw new Refused(capital(error.message));
  };
  const group = async () => {
    frames.sort((a, b) => a.number - b.number);
    frames.forEach((frame) => { frame.grouped = true; });
    const place = $("frames").querySelector(".results");
    try {
      const body = new Blob([JSON.stringify({ frames: frames.map((frame) => frame.sealed.shown) })]);
      const answer = await send("frames", body);
      const shown = element("div", "shown");
      shown.innerHTML = answer.section;
      const buttons = element("div", "buttons");
      buttons.append(
        ...savers("frames", answer, answer.records),
        button("Take them away", () => {
          frames.length = 0;
          place.replaceChildren();
          $("frames").hidden = true;
          $("files-button").focus();
        }),
      );
      const after = element("div", "panel");
      after.append(buttons, grader("corrections", () => ({ frames: frames.map((frame) => frame.sealed.sampled) }), true));
      /* Before the contact sheet, which may be long. */
      place.replaceChildren(element("h2", "", frames.length === 1 ? "One picture" : `${frames.length} pictures`), after, shown);
      $("frames").hidden = false;
      /* The report's own script finds its controls when it is run. */
      const script = element("script");
      script.src = "report.js";
      place.append(script);
      say(`${frames.length} pictures are checked and grouped.`);
    } catch (error) {
      place.replaceChildren(element("p", "panel problem", error.message), button("Try again", group));
      $("frames").hidden = false;
    }
  };

  /* What comes in. */
  const isPicture = (name) => /\.(jpe?g|png|tiff?|webp|dng|cr[23w]|nef|nrw|arw|sr[2fw]|raf|orf|rw[2l]|pef|iiq|3fr|erf|mrw|kdc|dcr|mef|mos|x3f|ari|fff)$/i.test(name);
  const take = (given, fromFolder, sure) => {
    let files = fromFolder
      ? given.filter(({ name }) => isPicture(name) && !name.split("/").some((part) => part.startsWith(".")))
      : given;
    if (!files.length) {
      tellWhich("There is no picture in it: JPEG, PNG, TIFF, WebP and raw files are read.");
      return;
    }
    if (kind === "card" && !sure && files.length > manyCards) {
      askWhich(files);
      return;
    }
    const room = kind === "frame" ? mostFrames - frames.length - queue.length : files.length;
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
  let waiting = [];
  const tellWhich = (words) => {
    $("which").hidden = false;
    $("which-words").textContent = words;
    $("which").querySelector(".buttons").hidden = true;
    say(words);
  };
  const askWhich = (files) => {
    waiting = files;
    tellWhich(`These are ${files.length} pictures. What are they?`);
    $("which").querySelector(".buttons").hidden = false;
    $("which").querySelector("button").focus();
  };
  for (const answer of document.querySelectorAll("[data-takes]")) {
    answer.addEventListener("click", () => {
      const files = waiting;
      waiting = [];
      $("which").hidden = true;
      $("files-button").focus();
      if (!answer.dataset.takes) return;
      document.querySelector(`[name=kind][value=${answer.dataset.takes}]`).checked = true;
      choose(answer.dataset.takes);
      take(files, false, true);
    });
  }
  const named = (file) => ({ file, name: file.webkitRelativePath || file.name });

  const entriesOf = (reader) => new Promise((resolve, reject) => reader.readEntries(resolve, reject));
  const walk = async (entry, found) => {
    if (entry.isFile) {
      const file = await new Promise((resolve, reject) => entry.file(resolve, reject));
      found.push({ file, name: entry.fullPath.replace(/^\//, "") });
    } else if (entry.isDirectory) {
      const reader = entry.createReader();
      for (let some = await entriesOf(reader); some.length; some = await entriesOf(reader)) {
        for (const inner of some) await walk(inner, found);
      }
    }
  };
  const dropped = async (transfer) => {
    const entries = [...transfer.items].map((item) => item.webkitGetAsEntry?.()).filter(Boolean);
    const loose = [...transfer.files];
    if (!entries.some((entry) => entry.isDirectory)) {
      take(loose.map(named), false);
      return;
    }
    const found = [];
    try {
      for (const entry of entries) await walk(entry, found);
    } catch {
      say("The folder could not be read whole.");
    }
    found.sort((a, b) => a.name.localeCompare(b.name, undefined, { numeric: true }));
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
        const last = lights().at(-1);
        if (!lights().some((select) => select.value === String(card.number))) {
          last.value = String(card.number);
          suggest(last);
        }
        await compare();
      } else {
        $("compare-words").textContent = "The light of the second photo is not known: see what is asked about it above.";
      }
    });
  });
  const inOrder = () => [...cards].sort((a, b) => a.number - b.number);
  const allSealed = () => ({ cards: inOrder().map((card) => card.answer.sealed) });
  $("save-records").addEventListener("click", () => {
    save("cards.jsonl", "application/json", ...inOrder().map((card) => `${card.answer.record}\n`));
  });
  $("save-cards").addEventListener("click", async () => {
    const words = $("all-cards-words");
    words.className = "figure";
    words.textContent = "Making the report";
    try {
      const answer = await send("cards", new Blob([JSON.stringify(allSealed())]));
      save("cards.html", "text/html", ...page(answer));
      words.textContent = "";
    } catch (error) {
      words.className = "problem";
      words.textContent = error.message;
    }
  });
  /* What was made of all of them is not of all of them once there are more. */
  const gather = () => {
    $("all-cards").hidden = cards.length < 2;
    $("all-cards").querySelector(".grade")?.remove();
    $("all-cards").append(grader("corrections", allSealed));
  };
  /* What is only in this page would be lost. */
  window.addEventListener("beforeunload", (event) => { if (running || queue.length) event.preventDefault(); });
  keepListening();
})();
