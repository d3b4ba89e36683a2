/* Photos of a card: what was read, the one question, and all of them together. */
import { $, button, element, saveRecords, saveReport, savers, say, shown, stem, tell } from "./parts.js";
import { sendJson, sendPhoto } from "./line.js";
import { corrections } from "./corrections.js";
import { isOne } from "./queue.js";
import { offer } from "./setups.js";

/* Everything that was read is held here and nowhere else; the newest is shown first. */
const cards = [];

export const readCard = async (card, progress, signal) => {
  card.answer = await sendPhoto("card", card, progress, signal);
  card.record = JSON.parse(card.answer.record);
  showCard(card);
};

/* Whether something can be corrected by it. */
const bears = ({ record }) => record.status === "read" || record.status === "residual-only";

const place = (card) => {
  card.place = element("div", "result");
  card.place.id = `card-${card.number}`;
  card.strip = element("div", "strip");
  card.shown = element("div", "shown");
  card.after = element("div", "after");
  card.place.append(card.strip, card.shown, card.after);
  card.strip.append(ask(card));
  $("cards").querySelector(".results").prepend(card.place);
  cards.push(card);
};
const showCard = (card) => {
  const isNew = !card.place;
  if (isNew) place(card);
  const section = shown(card.answer.section);
  for (const named of section.querySelectorAll("[id]")) named.id = `card-${card.number}-${named.id}`;
  card.shown.replaceChildren(...section.childNodes);
  question(card);
  const buttons = element("div", "buttons");
  buttons.append(
    ...savers(`card-${stem(card.name)}`, card.answer, [card.answer.record]),
    button("Remove", () => {
      card.place.remove();
      cards.splice(cards.indexOf(card), 1);
      change();
      $("files-button").focus();
    }),
  );
  card.after.replaceChildren(buttons);
  if (bears(card)) card.after.append(corrections(`corrections-${stem(card.name)}`, () => ({ cards: [card.answer.sealed] })));
  change();
  /* One photo alone is what somebody waits for. */
  if (isNew && isOne()) card.place.scrollIntoView({ block: "start" });
  say(`${card.name}: ${card.shown.querySelector(".verdict")?.innerText ?? ""}`);
};

/* The question that matters stands before the result; where nothing hangs on it, after it. */
const question = (card) => {
  const { record, strip } = card;
  const unknown = record.status === "residual-only";
  const automatic = record.card?.problems.some(({ code }) => code === "auto-balance");
  const held = strip.contains(document.activeElement) ? document.activeElement : null;
  if (unknown) card.place.prepend(strip); else card.shown.after(strip);
  held?.focus({ preventScroll: true });
  /* The balance says nothing about a photo that has no colour to read. */
  strip.hidden = record.status === "failed" || record.status === "refused";
  strip.classList.toggle("urgent", unknown);
  strip.querySelector("[type=submit]").classList.toggle("first", unknown);
  strip.querySelector("option").textContent = unknown ? "choose one" : "what the file says";
  for (const option of strip.querySelectorAll("[value=automatic]")) option.hidden = option.disabled = !unknown;
  strip.querySelector(".question").textContent = !unknown
    ? card.shotAt
      ? "Read as shot at the balance that you gave. Was it another?"
      : "Was the camera set to another white balance than the file says?"
    : automatic
      ? "The light is not known, because the camera balanced by itself. If it was set to a fixed balance after all: which white balance was the camera set to?"
      : "The light is not known yet, because the file does not say what the camera was set to. Which white balance was the camera set to?";
};
const ask = (card) => {
  const form = $("ask").content.firstElementChild.cloneNode(true);
  const status = form.querySelector("[role=status]");
  const kelvin = form.querySelector(".kelvin");
  const { balance } = form.elements;
  const again = async () => {
    if (balance.value === "automatic") {
      tell(status, "Then this photo cannot say which light it was; only the card's colour is known. Set the camera to a preset or a kelvin number and photograph the card again. A custom balance can be set from this one all the same.");
      return;
    }
    if (!balance.value && card.record.status === "residual-only") {
      tell(status, "Choose the balance that the camera was set to.", true);
      return;
    }
    const before = card.shotAt;
    card.shotAt = balance.value === "kelvin" ? `${form.elements.kelvin.value}K` : balance.value;
    card.place.setAttribute("aria-busy", "true");
    tell(status, "Reading again");
    try {
      await readCard(card);
      tell(status, "");
    } catch (error) {
      card.shotAt = before;
      tell(status, error.message, true);
    } finally {
      card.place.removeAttribute("aria-busy");
    }
  };
  balance.addEventListener("change", () => { kelvin.hidden = balance.value !== "kelvin"; });
  form.addEventListener("submit", (event) => { event.preventDefault(); again(); });
  return form;
};

/* All of them together. */
const inOrder = () => [...cards].sort((a, b) => a.number - b.number);
const allSealed = () => ({ cards: inOrder().map((card) => card.answer.sealed) });
const change = () => {
  $("cards").hidden = cards.length === 0;
  $("all-cards").hidden = cards.length < 2;
  /* What was made of all of them is not of all of them once there are more. */
  $("all-cards").querySelector(".grade")?.remove();
  if (cards.some(bears)) $("all-cards").append(corrections("corrections", allSealed));
  offer(cards);
};
$("save-records").addEventListener("click", () => {
  saveRecords("cards", inOrder().map((card) => card.answer.record));
});
$("save-cards").addEventListener("click", async () => {
  const words = $("all-cards-words");
  tell(words, "Making the report");
  try {
    saveReport("cards", await sendJson("cards", allSealed()));
    tell(words, "");
  } catch (error) {
    tell(words, error.message, true);
  }
});
