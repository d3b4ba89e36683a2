/* Pictures of a shoot: checked one by one, then grouped. */
import { $, button, capital, element, savers, say, shown } from "./parts.js";
import { Refused, sendJson, sendPhoto } from "./line.js";
import { corrections } from "./corrections.js";
import { whenSettled } from "./queue.js";

export const frames = [];
let round = 0;

export const readFrame = async (frame, progress, signal) => {
  frame.sealed = await sendPhoto("frame", frame, progress, signal);
  frame.file = null;
  frames.push(frame);
  const { error } = JSON.parse(frame.sealed.shown.record);
  if (error) throw new Refused(capital(error.message));
};

const takeAway = () => {
  round += 1;
  frames.length = 0;
  $("frames").querySelector(".results").replaceChildren();
  $("frames").hidden = true;
  $("files-button").focus();
};
const group = async () => {
  round += 1;
  const own = round;
  frames.sort((a, b) => a.number - b.number);
  frames.forEach((frame) => { frame.grouped = true; });
  const place = $("frames").querySelector(".results");
  try {
    const answer = await sendJson("frames", { frames: frames.map((frame) => frame.sealed.shown) });
    /* More frames have come since, or all were taken away: that answer counts. */
    if (own !== round) return;
    const buttons = element("div", "buttons");
    buttons.append(...savers("frames", answer, answer.records), button("Remove them", takeAway));
    const after = element("div", "panel");
    const sampled = () => ({ frames: frames.map((frame) => frame.sealed.sampled) });
    after.append(buttons, corrections("corrections", sampled, true));
    const heading = element("h2", "", frames.length === 1 ? "One picture" : `${frames.length} pictures`);
    /* Before the contact sheet, which may be long. */
    place.replaceChildren(heading, after, shown(answer.section));
    /* The report's own script finds its controls when it is run. */
    const script = element("script");
    script.src = "report.js";
    place.append(script);
    say(`${frames.length} pictures are checked and grouped.`);
  } catch (error) {
    if (own !== round) return;
    place.replaceChildren(element("p", "panel problem", error.message), button("Try again", group));
  }
  $("frames").hidden = false;
};
whenSettled(() => { if (frames.some((frame) => !frame.grouped)) group(); });
