"use strict";
// A page older than this may say GO where that is over.
const OLD_AFTER = 5 * 60;
const two = (number) => String(number).padStart(2, "0");
const digits = (seconds) => {
  const left = Math.max(0, Math.floor(seconds));
  const [days, hours] = [Math.floor(left / 86400), Math.floor(left / 3600) % 24];
  const rest = two(Math.floor(left / 60) % 60) + ":" + two(left % 60);
  return days > 0 ? days + " d " + two(hours) + ":" + rest : hours + ":" + rest;
};
const written = document.getElementById("age");
const asOf = written.textContent;
const follow = () => {
  const now = Date.now();
  const age = Math.floor((now - Date.parse(written.dataset.at)) / 1000);
  const minutes = Math.floor(Math.abs(age) / 60);
  written.textContent = asOf + (minutes < 1 ? ", just now" : age < 0 ? "; the clocks differ" : ", " + minutes + " min ago");
  // A clock that is wrong makes every countdown wrong too.
  const old = Math.abs(age) > OLD_AFTER;
  document.getElementById("old").hidden = !old;
  document.body.classList.toggle("old", old);
  for (const count of document.querySelectorAll("[data-to]")) {
    count.textContent = digits((Date.parse(count.dataset.to) - now) / 1000);
  }
};
follow();
setInterval(follow, 1000);
