// The parts of the desk. A wide window shows all three, a narrow one those that fit, and this says which.

import { $ } from "./dom.js";

export function setUpParts() {
  for (const button of document.querySelectorAll("#jump button")) button.addEventListener("click", () => showPart(button.dataset.part));
  document.querySelector(".skip").addEventListener("click", (event) => {
    event.preventDefault(); // the address keeps naming the project
    showPart("chart");
    $("chart").focus();
  });
  showPart("chart");
}

export function showPart(name) {
  $("work").dataset.part = name;
  for (const button of document.querySelectorAll("#jump button")) button.setAttribute("aria-pressed", String(button.dataset.part === name));
}
