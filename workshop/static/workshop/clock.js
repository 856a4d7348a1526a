/* Moves the clock of the bench on, once a minute; without it the page shows the time at which it was asked for. */
const clock = document.querySelector(".clock[data-since]");
function show() {
  const minutes = Math.max(0, Math.floor((Date.now() - new Date(clock.dataset.since)) / 60000));
  clock.textContent = `${Math.floor(minutes / 60)} h ${String(minutes % 60).padStart(2, "0")}`;
}
if (clock) {
  show();
  setInterval(show, 20000);
  document.addEventListener("visibilitychange", show);
}
