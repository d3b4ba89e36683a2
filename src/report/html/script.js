"use strict";
(() => {
  const controls = document.querySelector("form.controls");
  if (!controls) return;
  const groups = document.querySelector(".groups");
  const flat = document.querySelector(".flat");
  const status = controls.querySelector("[role=status]");
  const frames = [...document.querySelectorAll("li.frame")];
  const homes = frames.map((frame) => [frame, frame.parentElement]);

  const arrange = (order) => {
    const grouped = order === "group";
    if (grouped) {
      for (const [frame, home] of homes) home.append(frame);
    } else {
      const place = (frame) => Number(frame.dataset[order]);
      flat.append(...[...frames].sort((a, b) => place(a) - place(b)));
    }
    groups.hidden = !grouped;
    flat.hidden = grouped;
  };

  const filter = () => {
    const boxes = [...controls.querySelectorAll("[name=kind]")];
    const kinds = new Set(boxes.filter((box) => box.checked).map((box) => box.value));
    let shown = 0;
    for (const frame of frames) {
      frame.hidden = !kinds.has(frame.dataset.kind);
      shown += frame.hidden ? 0 : 1;
    }
    for (const group of groups.querySelectorAll(".group")) {
      group.hidden = !group.querySelector("li.frame:not([hidden])");
    }
    status.textContent = `${shown} of ${frames.length} shown`;
  };

  controls.addEventListener("submit", (event) => event.preventDefault());
  controls.addEventListener("change", (event) => {
    if (event.target.name === "order") arrange(event.target.value);
    filter();
  });
  // What the browser kept from an earlier visit counts too.
  arrange(controls.elements.order.value);
  filter();
  controls.hidden = false;
})();
