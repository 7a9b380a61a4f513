// The body model's moving figure on the athlete's page: played, or moved by hand.
import { ModelFigure } from "./model.js";

function bind(box) {
  const figure = new ModelFigure(box, box.dataset.moving);
  const [slider, button] = [box.querySelector("[data-time]"), box.querySelector("[data-play]")];
  const end = figure.t[figure.t.length - 1];
  slider.max = String(end);
  let began = 0;

  function show(seconds) {
    slider.value = String(seconds);
    figure.draw(seconds);
  }

  function step(now) {
    if (!began || !box.isConnected) return;
    const seconds = (now - began) / 1000;
    show(Math.min(seconds, end));
    if (seconds < end) requestAnimationFrame(step);
    else stop();
  }

  function stop() {
    began = 0;
    button.textContent = "Play";
  }

  button.addEventListener("click", () => {
    if (began) return stop();
    const from = Number(slider.value) < end ? Number(slider.value) : 0;
    began = performance.now() - from * 1000;
    button.textContent = "Stop";
    requestAnimationFrame(step);
  });
  slider.addEventListener("input", () => {
    stop();
    figure.draw(Number(slider.value));
  });
  show(0);
}

document.addEventListener("htmx:afterSettle", () => {
  document.querySelectorAll("[data-moving]:not([data-bound])").forEach((box) => {
    box.dataset.bound = "yes";
    bind(box);
  });
});
