// Minus and plus change the number without loading the page anew; without this file the same buttons ask the server.
"use strict";
document.querySelectorAll(".enter").forEach((box) => {
  const field = box.querySelector("input");
  box.querySelectorAll("button.step").forEach((button) => {
    button.addEventListener("click", (event) => {
      const typed = field.value.trim().replace(",", ".").replace("−", "-");
      if (typed === "" || !/^[-+]?\d*\.?\d+$/.test(typed)) return; // empty or with a unit: the server knows
      event.preventDefault();
      const step = Number(button.value);
      const places = (button.value.split(".")[1] || "").length;
      const now = (typed.split(".")[1] || "").length;
      field.value = (Number(typed) + step).toFixed(Math.max(places, now));
    });
  });
});
