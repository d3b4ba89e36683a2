/* Set-ups: cards whose lights are known, compared. */
import { $, element, limits, megabytes, savers, say, shown, tell } from "./parts.js";
import { parcel, send } from "./line.js";

/* All cards that there are, as they were last offered. */
let cards = [];
const form = $("compare-form");
const words = $("compare-words");
const ordinals = ["First", "Second", "Third", "Fourth", "Fifth", "Sixth"];
const examples = ["such as window", "such as lamp"];
const lights = () => [...form.querySelectorAll("select")];
const cardOf = (select) => cards.find((card) => String(card.number) === select.value);
const suggest = (select) => {
  select.closest(".light").querySelector("input").value = cardOf(select)?.called ?? "";
};
/* The photos that were compared, each with the answer that it had then. */
let compared = [];

const addLight = () => {
  const index = lights().length;
  const light = $("light").content.firstElementChild.cloneNode(true);
  light.querySelector("[data-ordinal]").prepend(`${ordinals[index]} light`);
  const [select, name] = [light.querySelector("select"), light.querySelector("input")];
  select.name = ordinals[index].toLowerCase();
  name.name = `${select.name}-name`;
  name.placeholder = examples[index] ?? "";
  name.setAttribute("aria-label", `Name of the ${select.name} light`);
  select.addEventListener("change", () => suggest(select));
  name.addEventListener("change", () => {
    const card = cardOf(select);
    if (card) card.called = name.value.trim() || undefined;
  });
  $("lights").append(light);
  return select;
};

/* Offers what there is to compare, and keeps what was chosen. */
export const offer = (all) => {
  cards = all;
  const usable = cards.filter((card) => card.record.light);
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
  const isAlone = usable.length < 2;
  $("lights").hidden = form.querySelector("[type=submit]").hidden = isAlone;
  $("one-more").hidden = lights().length >= Math.min(usable.length, limits.lights, ordinals.length);
  const stale = compared.some(([card, answer]) => cards.includes(card) && card.answer !== answer);
  tell(words, isAlone
    ? "Give a photo of the card in the second light."
    : stale ? "A photo was read again since: compare again." : "");
};

const compare = async () => {
  const chosen = lights().map(cardOf);
  if (chosen.includes(undefined) || new Set(chosen).size < chosen.length) {
    tell(words, "Choose a different photo for each light.", true);
    return;
  }
  if (chosen.reduce((sum, card) => sum + card.file.size, 0) > limits.bytes) {
    tell(words, `Too large together: ${megabytes(limits.bytes)} are the most. Compare fewer, or the camera's JPEGs.`, true);
    return;
  }
  const answers = chosen.map((card) => [card, card.answer]);
  tell(words, "Comparing");
  try {
    const answer = await send("setups", parcel(chosen));
    tell(words, "");
    compared = answers;
    const after = element("div", "buttons panel");
    after.append(...savers("set-ups", answer, [answer.record]));
    const heading = element("h2", "", `${chosen.length} set-ups`);
    $("setups").querySelector(".results").replaceChildren(heading, shown(answer.section), after);
    $("setups").hidden = false;
    $("setups").focus({ preventScroll: true });
    $("setups").scrollIntoView({ block: "start" });
    say("The set-ups are compared.");
  } catch (error) {
    tell(words, error.message, true);
  }
};

/* Compares at once with a photo that was given for that. */
export const compareWith = async (card) => {
  if (!card.record.light) {
    tell(words, "The light of that photo is not known: see what is said of it above.", true);
    return;
  }
  if (!lights().some((select) => cardOf(select) === card)) {
    const last = lights().at(-1);
    last.value = String(card.number);
    suggest(last);
  }
  await compare();
};

addLight();
addLight();
$("one-more").addEventListener("click", () => {
  const select = addLight();
  offer(cards);
  select.focus();
});
form.addEventListener("submit", (event) => { event.preventDefault(); compare(); });
