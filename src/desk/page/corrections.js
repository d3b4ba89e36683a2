/* Corrections of what was read, for a grading program. */
import { $, button, element, save, saveRecords, shown, tell } from "./parts.js";
import { sendJson } from "./line.js";

/* A form that asks for them; `sealed` gives what they are to be made of. */
export const corrections = (name, sealed, ofFrames = false) => {
  const place = $("grade").content.firstElementChild.cloneNode(true);
  const form = place.querySelector("form");
  const status = place.querySelector("[role=status]");
  const made = place.querySelector(".made");
  for (const part of place.querySelectorAll(ofFrames ? ".for-cards" : ".for-frames")) part.remove();
  const { footage, strength, each } = form.elements;
  const savers = ({ zip, files, records }) => {
    const buttons = element("div", "buttons");
    if (!zip) return buttons;
    const bytes = Uint8Array.from(atob(zip), (letter) => letter.charCodeAt(0));
    const saver = button(`Save the ${files} files (ZIP)`, () => save(`${name}.zip`, "application/zip", bytes));
    saver.className = "first";
    buttons.append(saver, button("Save the records with them (JSON)", () => saveRecords(name, records)));
    return buttons;
  };
  const make = async () => {
    tell(status, "Making them");
    try {
      const answer = await sendJson("corrections", {
        footage: footage.value,
        strength: strength.value,
        each_frame: each?.value === "frame",
        ...sealed(),
      });
      made.replaceChildren(shown(answer.section), savers(answer));
      tell(status, answer.zip ? `${answer.files} files are ready to be saved.` : "No correction could be made: see why below.");
    } catch (error) {
      made.replaceChildren();
      tell(status, error.message, true);
    }
  };
  form.addEventListener("submit", (event) => { event.preventDefault(); make(); });
  /* What was made no longer is what is chosen. */
  form.addEventListener("change", () => { made.replaceChildren(); status.textContent = ""; });
  return place;
};
