// The film page: the picture with its joints, bound to the frames' own presentation times.
import uPlot from "./vendor/uplot/uPlot.esm.js";
import { axis, ink } from "./curves.js";
import { ModelFigure } from "./model.js";

const SLOW = [1, 0.5, 0.25, 0.125];
const APART_S = 0.12; // so far two films may drift apart while they play
const GRAB = 26; // px on screen within which a point is taken hold of
const number = (value, digits, signed) => {
  const text = Math.abs(value).toFixed(digits);
  const sign = value < 0 && Number(text) !== 0 ? "−" : signed ? "+" : "";
  return sign + text;
};

class Player {
  constructor(stage, track) {
    this.stage = stage;
    this.track = track;
    this.video = stage.querySelector("video");
    this.canvas = stage.querySelector("canvas");
    this.said = stage.querySelector(".now");
    this.frame = 0;
    this.joints = true;
    this.held = null;
    this.listeners = [];
    new ResizeObserver(() => this.draw()).observe(this.canvas);
    this.video.addEventListener("loadeddata", () => this.draw());
    this.video.addEventListener("pause", () => this.goToFrame(this.frame));
    this.watch();
  }

  // Every presented frame says its own time: no guess from a frame rate. Films are kept without
  // sound, so a browser's time 0 is the first frame, as in the reading.
  watch() {
    this.video.requestVideoFrameCallback((now, seen) => {
      // Stopped, the frame that was asked for is the truth: the browser may tell of an earlier one late.
      if (!this.video.paused) this.arrive(this.frameAt(seen.mediaTime));
      this.watch();
    });
  }

  get t() { return this.track.t; }
  get now() { return this.t[this.frame]; }

  frameAt(seconds) {
    let low = 0;
    let high = this.t.length - 1;
    while (low < high) {
      const middle = (low + high) >> 1;
      if (this.t[middle] < seconds) low = middle + 1;
      else high = middle;
    }
    return low > 0 && seconds - this.t[low - 1] < this.t[low] - seconds ? low - 1 : low;
  }

  // Seeking to the middle of a frame's time avoids landing on its neighbour by rounding.
  goToFrame(index) {
    const last = this.t.length - 1;
    this.frame = Math.max(0, Math.min(last, index));
    const next = this.frame < last ? this.t[this.frame + 1] : this.t[last] + (this.t[last] - this.t[last - 1]);
    this.video.currentTime = (this.t[this.frame] + next) / 2;
    this.arrive(this.frame);
  }

  arrive(frame) {
    this.frame = frame;
    this.draw();
    this.listeners.forEach((tell) => tell(this));
  }

  goTo(seconds) { this.goToFrame(this.frameAt(seconds)); }

  step(frames) {
    this.video.pause();
    this.goToFrame(this.frame + frames);
  }

  toggle() { return this.video.paused ? this.video.play() : this.video.pause(); }

  place() {
    const box = this.canvas.getBoundingClientRect();
    const scale = Math.min(box.width / this.track.width, box.height / this.track.height);
    return {
      scale,
      left: (box.width - this.track.width * scale) / 2,
      top: (box.height - this.track.height * scale) / 2,
      box,
    };
  }

  draw() {
    const { canvas, track } = this;
    const { scale, left, top, box } = this.place();
    const ratio = devicePixelRatio;
    if (canvas.width !== Math.round(box.width * ratio)) canvas.width = Math.round(box.width * ratio);
    if (canvas.height !== Math.round(box.height * ratio)) canvas.height = Math.round(box.height * ratio);
    const ctx = canvas.getContext("2d");
    ctx.setTransform(1, 0, 0, 1, 0, 0);
    ctx.clearRect(0, 0, canvas.width, canvas.height);
    const xs = track.x[this.frame];
    const ys = track.y[this.frame];
    const sds = track.sd[this.frame];
    if (this.joints && xs) {
      ctx.setTransform(ratio * scale, 0, 0, ratio * scale, ratio * left, ratio * top);
      const thin = 1 / scale;
      if (track.bar) this.drawBar(ctx, thin);
      for (const [a, b] of track.bones) {
        const right = track.names[a].startsWith("right") && track.names[b].startsWith("right");
        for (const [style, width] of [["rgb(12 14 17 / 70%)", 5], [right ? "#9fd3e2" : "#ffffff", 2.4]]) {
          ctx.strokeStyle = style;
          ctx.lineWidth = width * thin;
          ctx.beginPath();
          ctx.moveTo(xs[a], ys[a]);
          ctx.lineTo(xs[b], ys[b]);
          ctx.stroke();
        }
      }
      const joined = new Set(track.bones.flat());
      track.names.forEach((name, i) => {
        if (!this.moving && !joined.has(i)) return;
        const held = this.held && this.held.joint === name;
        ctx.beginPath();
        ctx.arc(xs[i], ys[i], (held ? 7 : 3.4) * thin, 0, 7);
        ctx.fillStyle = held ? "#ffd9a0" : "#ffffff";
        ctx.fill();
        ctx.lineWidth = 1.2 * thin;
        ctx.strokeStyle = "#10161a";
        ctx.stroke();
        if (this.moving && sds[i] > 0) {
          ctx.beginPath();
          ctx.arc(xs[i], ys[i], Math.max(sds[i], 4 * thin), 0, 7);
          ctx.strokeStyle = "rgb(255 255 255 / 55%)";
          ctx.stroke();
        }
      });
    }
    if (this.ends) {
      ctx.setTransform(ratio * scale, 0, 0, ratio * scale, ratio * left, ratio * top);
      this.drawEnds(ctx, 1 / scale);
    }
    this.saidNow();
  }

  // The marked length: a line with a cross bar at each end, so that the exact place stays to be seen.
  drawEnds(ctx, thin) {
    const [[x1, y1], [x2, y2]] = this.ends;
    const away = Math.hypot(x2 - x1, y2 - y1) || 1;
    const [nx, ny] = [(-(y2 - y1) / away) * 12 * thin, ((x2 - x1) / away) * 12 * thin];
    for (const [style, width] of [["rgb(12 14 17 / 80%)", 5], ["#ffd9a0", 2]]) {
      ctx.strokeStyle = style;
      ctx.lineWidth = width * thin;
      ctx.beginPath();
      ctx.moveTo(x1, y1);
      ctx.lineTo(x2, y2);
      for (const [x, y] of this.ends) { ctx.moveTo(x - nx, y - ny); ctx.lineTo(x + nx, y + ny); }
      ctx.stroke();
    }
  }

  drawBar(ctx, thin) {
    const { x, y } = this.track.bar;
    const reach = (this.track.hang_px || 80) * 0.55;
    ctx.lineWidth = 1.6 * thin;
    ctx.strokeStyle = "rgb(255 255 255 / 85%)";
    ctx.setLineDash([6 * thin, 5 * thin]);
    ctx.beginPath();
    ctx.moveTo(x - reach, y);
    ctx.lineTo(x + reach, y);
    ctx.stroke();
    ctx.setLineDash([]);
    ctx.beginPath();
    ctx.arc(x, y, (this.held && this.held.joint === "bar" ? 8 : 5) * thin, 0, 7);
    ctx.fillStyle = "#155a70";
    ctx.fill();
    ctx.strokeStyle = "#ffffff";
    ctx.stroke();
  }

  saidNow() {
    const { curves, hang_m: hang } = this.track;
    const i = this.curveAt(this.now);
    let text = `${number(this.now, 2)} s · frame ${this.frame + 1} of ${this.t.length}`;
    if (i >= 0) {
      const height = curves.shoulder_L[i];
      text += ` · shoulder ${number(height, 2, true)} ± ${number(curves.shoulder_sd_L[i], 2)} L`;
      if (hang) text += ` (${number(height * hang * 100, 0, true)} ± ${number(curves.shoulder_sd_L[i] * hang * 100, 0)} cm)`;
    }
    if (this.said) this.said.textContent = text;
  }

  curveAt(seconds) {
    const { t } = this.track.curves;
    if (!t.length) return -1;
    let best = 0;
    for (let i = 1; i < t.length; i += 1) if (Math.abs(t[i] - seconds) < Math.abs(t[best] - seconds)) best = i;
    return best;
  }

  nearest(event) {
    const { scale, left, top, box } = this.place();
    const x = (event.clientX - box.left - left) / scale;
    const y = (event.clientY - box.top - top) / scale;
    const points = this.track.names.map((name, i) => [name, this.track.x[this.frame][i], this.track.y[this.frame][i]]);
    if (this.track.bar) points.push(["bar", this.track.bar.x, this.track.bar.y]);
    if (this.ends) points.splice(0, points.length, ...this.ends.map(([px, py], i) => [`end_${i + 1}`, px, py]));
    let best = null;
    for (const [joint, px, py] of points) {
      const away = Math.hypot(px - x, py - y) * scale;
      if (away < GRAB && (!best || away < best.away)) best = { joint, away, dx: px - x, dy: py - y };
    }
    return best && { joint: best.joint, dx: best.dx, dy: best.dy };
  }

  moveHeld(event) {
    const { scale, left, top, box } = this.place();
    this.put(
      this.held.joint,
      (event.clientX - box.left - left) / scale + this.held.dx,
      (event.clientY - box.top - top) / scale + this.held.dy,
    );
  }

  put(joint, x, y) {
    if (joint.startsWith("end_")) {
      this.ends[Number(joint.slice(4)) - 1] = [
        Math.min(Math.max(x, 0), this.track.width), Math.min(Math.max(y, 0), this.track.height),
      ];
    } else if (joint === "bar") {
      this.track.bar.x = x;
      this.track.bar.y = y;
    } else {
      const i = this.track.names.indexOf(joint);
      this.track.x[this.frame][i] = x;
      this.track.y[this.frame][i] = y;
    }
    this.draw();
  }

  // Fills the stage with the athlete and the bar over the whole film.
  closeUp(on) {
    const { track } = this;
    this.close = on;
    const reel = this.stage.querySelector(".reel");
    if (!on) { reel.style.transform = ""; this.draw(); return; }
    const xs = track.x.flat().concat(track.bar ? [track.bar.x] : []);
    const ys = track.y.flat().concat(track.bar ? [track.bar.y] : []);
    const [left, right, top, bottom] = [Math.min(...xs), Math.max(...xs), Math.min(...ys), Math.max(...ys)];
    const scale = Math.max(1, Math.min(track.width / (right - left) / 1.15, track.height / (bottom - top) / 1.12, 4));
    const shift = (low, high, whole) => Math.min(0, Math.max((0.5 - ((low + high) / 2 / whole) * scale) * 100, (1 - scale) * 100));
    reel.style.transform = `translate(${shift(left, right, track.width)}%, ${shift(top, bottom, track.height)}%) scale(${scale})`;
    this.draw();
  }

  where(joint) {
    if (joint.startsWith("end_")) return this.ends[Number(joint.slice(4)) - 1];
    if (joint === "bar") return [this.track.bar.x, this.track.bar.y];
    const i = this.track.names.indexOf(joint);
    return [this.track.x[this.frame][i], this.track.y[this.frame][i]];
  }
}

class Bench {
  constructor(page) {
    this.page = page;
    this.token = JSON.parse(document.body.getAttribute("hx-headers"))["X-Form-Token"];
  }

  async open() {
    const stages = [...this.page.querySelectorAll(".stage")];
    this.players = await Promise.all(stages.map(async (stage) => {
      const answer = await fetch(stage.dataset.track);
      return new Player(stage, await answer.json());
    }));
    [this.first, this.second] = this.players;
    this.first.listeners.push(() => this.follow());
    this.paintPhases();
    this.paintCurves();
    this.bindButtons();
    this.bindKeys();
    this.bindMoving();
    this.bindMarking();
    if (this.second) this.lock();
    // The model's part comes when it is scrolled to, and anew after a point is moved.
    document.addEventListener("htmx:afterSwap", (event) => {
      const figure = event.detail.target.querySelector?.("[data-model]");
      if (figure) this.model = new ModelFigure(figure, figure.dataset.model);
      this.follow();
    });
    this.follow();
    this.page.dataset.ready = "yes";
  }

  // Two films side by side: the second goes where the same event of its own would be. Only events
  // both films have can hold them together.
  lock() {
    const select = this.page.querySelector("#lock-at");
    const at = (player, kind) => player.track.events.find((event) => event.kind === kind)?.at;
    const both = (kind) => this.players.every((player) => at(player, kind) !== undefined);
    for (const option of [...select.options]) if (!both(option.value)) option.remove();
    if (!select.options.length) select.add(new Option("Beginning of both", ""));
    else if (both("pull_start")) select.value = "pull_start";
    this.shift = () => (select.value ? at(this.second, select.value) - at(this.first, select.value) : 0);
    this.page.querySelector("#lock-at").addEventListener("change", () => this.follow());
    this.first.video.addEventListener("play", () => {
      this.second.video.playbackRate = this.first.video.playbackRate;
      this.second.goTo(this.first.now + this.shift());
      this.second.video.play();
    });
    this.first.video.addEventListener("pause", () => { this.second.video.pause(); this.follow(); });
  }

  follow() {
    const player = this.first;
    const whole = player.t[player.t.length - 1] || 1;
    const hand = this.page.querySelector(".phases .hand");
    if (hand) hand.style.left = `${(player.now / whole) * 100}%`;
    this.page.querySelectorAll(".phases button").forEach((button) => {
      const inside = player.now >= Number(button.dataset.at) && player.now < Number(button.dataset.to);
      button.classList.toggle("now-in", inside);
    });
    for (const plot of this.plots || []) {
      plot.setCursor({ left: plot.valToPos(player.now, "x"), top: 10 }, false);
    }
    this.model?.draw(player.now);
    if (this.second) this.keepTogether(player);
  }

  keepTogether(player) {
    const there = player.now + this.shift();
    if (player.video.paused) this.second.goTo(there);
    // Two films of different frame rates drift while they play; the second is set right when it shows.
    else if (Math.abs(this.second.video.currentTime - there) > APART_S) this.second.video.currentTime = Math.max(there, 0);
  }

  paintPhases() {
    const band = this.page.querySelector(".phases");
    if (!band) return;
    band.querySelectorAll("button").forEach((button) => button.remove());
    const whole = this.first.t[this.first.t.length - 1] || 1;
    for (const phase of this.first.track.phases) {
      const button = document.createElement("button");
      button.type = "button";
      button.textContent = phase.name;
      button.title = `${phase.name}, ${phase.from.toFixed(2)} to ${phase.to.toFixed(2)} s`;
      button.dataset.at = phase.from;
      button.dataset.to = phase.to;
      button.style.left = `${(phase.from / whole) * 100}%`;
      button.style.width = `${((phase.to - phase.from) / whole) * 100}%`;
      band.append(button);
    }
  }

  paintCurves() {
    (this.plots || []).forEach((plot) => plot.destroy());
    const { curves, t } = this.first.track;
    if (!curves.t.length) { this.plots = []; return; }
    const x = { time: false, range: [t[0], t[t.length - 1]] };
    const low = curves.shoulder_L.map((v, i) => v - curves.shoulder_sd_L[i]);
    const high = curves.shoulder_L.map((v, i) => v + curves.shoulder_sd_L[i]);
    const make = (id, height, extra, data) => {
      const box = this.page.querySelector(id);
      const plot = new uPlot({
        width: Math.max(box.clientWidth, 200),
        height,
        legend: { show: false },
        padding: [8, 18, 0, 0],
        cursor: { y: false, drag: { x: false, y: false }, points: { show: false }, bind: { mousemove: () => null, mouseleave: () => null } },
        ...extra,
      }, data, box);
      plot.over.addEventListener("click", (event) => {
        this.first.video.pause();
        this.first.goTo(plot.posToVal(event.offsetX, "x"));
      });
      new ResizeObserver(() => {
        if (Math.abs(box.clientWidth - plot.width) > 1) plot.setSize({ width: box.clientWidth, height });
      }).observe(box);
      return plot;
    };
    const line = (width, dash) => ({ stroke: ink("--deep"), width, dash, points: { show: false } });
    const none = { stroke: "transparent", points: { show: false } };
    const signed = (u, splits) => splits.map((v) => number(v, splits.every((one) => Number.isInteger(one * 10)) ? 1 : 2, v !== 0));
    const zero = (u) => {
      const y = u.valToPos(0, "y", true);
      u.ctx.save();
      u.ctx.setLineDash([]);
      u.ctx.strokeStyle = ink("--ink");
      u.ctx.lineWidth = 2.5 * devicePixelRatio;
      u.ctx.beginPath();
      u.ctx.moveTo(u.bbox.left, y);
      u.ctx.lineTo(u.bbox.left + u.bbox.width, y);
      u.ctx.stroke();
      u.ctx.restore();
    };
    this.plots = [
      make("#height-curve", 190, {
        scales: { x, y: { range: (u, lo, hi) => [Math.min(lo, -0.2) - 0.05, Math.max(hi, 0.1) + 0.05] } },
        axes: [axis(24, (u, s) => s.map((v) => `${v} s`)), axis(44, signed)],
        bands: [{ series: [3, 2], fill: ink("--band") }],
        series: [{}, line(2), none, none, line(1.2, [4, 4])],
        hooks: { draw: [zero] },
      }, [curves.t, curves.shoulder_L, low, high, curves.chin_L]),
      make("#speed-curve", 130, {
        scales: { x },
        axes: [axis(24, (u, s) => s.map((v) => `${v} s`)), axis(44, signed)],
        series: [{}, line(1.6)],
        hooks: { draw: [zero] },
      }, [curves.t, curves.rise_mps]),
    ];
  }

  bindButtons() {
    this.page.addEventListener("click", (event) => {
      const jump = event.target.closest("[data-at]");
      if (jump) { this.first.video.pause(); this.first.goTo(Number(jump.dataset.at)); }
      const does = event.target.closest("[data-do]");
      if (does) this.act(does.dataset.do);
    });
    this.first.video.addEventListener("play", () => this.showPlaying());
    this.first.video.addEventListener("pause", () => this.showPlaying());
    this.page.querySelector("canvas").addEventListener("click", () => { if (!this.first.moving && !this.first.ends) this.first.toggle(); });
  }

  showPlaying() {
    this.page.querySelector("[data-do=play]").textContent = this.first.video.paused ? "Play" : "Pause";
  }

  act(what) {
    const { first } = this;
    const speeds = () => {
      const next = SLOW[(SLOW.indexOf(first.video.playbackRate) + 1) % SLOW.length];
      this.players.forEach((player) => { player.video.playbackRate = next; });
      this.page.querySelector("[data-do=slow]").textContent = next === 1 ? "Full speed" : `1/${1 / next} speed`;
    };
    const event = (way) => {
      const { events } = first.track;
      const next = way > 0
        ? events.find((e) => first.frameAt(e.at) > first.frame)
        : [...events].reverse().find((e) => first.frameAt(e.at) < first.frame);
      if (next) { first.video.pause(); first.goTo(next.at); }
    };
    ({
      play: () => first.toggle(),
      back: () => first.step(-1),
      on: () => first.step(1),
      "back-far": () => first.step(-10),
      "on-far": () => first.step(10),
      slow: speeds,
      "next-event": () => event(1),
      "last-event": () => event(-1),
      joints: () => {
        this.players.forEach((player) => { player.joints = !player.joints; player.draw(); });
        this.press("joints", first.joints);
      },
      close: () => {
        this.players.forEach((player) => player.closeUp(!player.close));
        this.press("close", first.close);
      },
      move: () => this.setMoving(!first.moving),
      mark: () => this.setMarking(!first.ends),
      undo: () => { if (first.moving && this.points) this.send("last"); },
    })[what]?.();
  }

  press(what, on) {
    this.page.querySelector(`[data-do=${what}]`)?.setAttribute("aria-pressed", String(on));
  }

  bindKeys() {
    const keys = {
      " ": "play", ArrowLeft: "back", ArrowRight: "on", s: "slow", n: "next-event", p: "last-event", j: "joints", c: "close", m: "move", u: "undo", l: "mark",
    };
    document.addEventListener("keydown", (event) => {
      if (event.target.closest("input, textarea, select, [contenteditable]") || event.ctrlKey || event.metaKey || event.altKey) return;
      if ((this.first.moving || this.first.ends) && this.nudge(event)) return;
      if (event.key === " " && event.target.closest("button, summary, a")) return;
      let what = keys[event.key];
      if (what && event.shiftKey && event.key.startsWith("Arrow")) what += "-far";
      if (!what) return;
      event.preventDefault();
      this.act(what);
    });
  }

  setMoving(on) {
    if (!this.page.querySelector("[data-do=move]")) return;
    if (on && this.first.ends) this.setMarking(false);
    this.first.moving = on;
    this.first.held = null;
    this.first.video.pause();
    this.page.querySelector("#moving").hidden = !on;
    this.page.querySelector(".stage").classList.toggle("moving", on);
    this.press("move", on);
    this.first.draw();
  }

  // A length the coach knows: two ends in the first picture, and metres.
  setMarking(on) {
    const box = this.page.querySelector("#marking");
    if (!box) return;
    const { first } = this;
    if (on && first.moving) this.setMoving(false);
    const { known, width, height } = first.track;
    first.ends = on ? structuredClone(known?.ends ?? [[width * 0.6, height * 0.4], [width * 0.6, height * 0.6]]) : null;
    first.held = on ? { joint: this.page.querySelector("#end").value } : null;
    if (on) { first.video.pause(); first.goToFrame(0); first.canvas.focus(); }
    box.hidden = !on;
    this.page.querySelector(".stage").classList.toggle("moving", on);
    this.press("mark", on);
    first.draw();
  }

  bindMarking() {
    const box = this.page.querySelector("#marking");
    if (!box) return;
    const { first } = this;
    box.querySelector("#end").addEventListener("change", (event) => {
      first.held = { joint: event.target.value };
      first.canvas.focus();
    });
    box.addEventListener("click", (event) => {
      const does = event.target.closest("[data-length]")?.dataset.length;
      if (does) this.sendLength(does === "undo");
    });
  }

  async sendLength(undo) {
    const box = this.page.querySelector("#marking");
    const said = box.querySelector("#measured");
    const m = Number(box.querySelector("#known-m").value);
    if (!undo && !(m > 0)) { said.textContent = "Give the length in metres."; return; }
    const body = await this.post(this.page.dataset.scale, undo ? { undo } : { ends: this.first.ends, m }, said);
    if (!body) return;
    box.querySelector("[data-length=undo]").disabled = undo;
    if (undo) box.querySelector("#known-m").value = "";
  }

  bindMoving() {
    const { first } = this;
    const { canvas } = first;
    const select = this.page.querySelector("#joint");
    if (!select) return;
    for (const name of [...first.track.names, ...(first.track.bar ? ["bar"] : [])]) {
      select.append(new Option(name.replaceAll("_", " "), name));
    }
    select.addEventListener("change", () => {
      first.held = { joint: select.value };
      first.draw();
      canvas.focus();
    });
    canvas.addEventListener("pointerdown", (event) => {
      if (!first.moving && !first.ends) return;
      first.held = first.nearest(event);
      if (!first.held) { first.draw(); return; }
      (first.ends ? this.page.querySelector("#end") : select).value = first.held.joint;
      canvas.setPointerCapture(event.pointerId);
      this.dragging = true;
      first.draw();
    });
    canvas.addEventListener("pointermove", (event) => { if (this.dragging) first.moveHeld(event); });
    canvas.addEventListener("pointerup", () => {
      if (!this.dragging) return;
      this.dragging = false;
      if (!first.ends) this.send();
    });
    this.undos = [...this.page.querySelectorAll("[data-undo]")];
    this.undos.forEach((button) => button.addEventListener("click", () => this.send(button.dataset.undo)));
    this.points = this.undos.some((button) => !button.disabled);
  }

  // Arrow keys move the chosen point by a pixel of the film (five with shift); it is sent when they rest.
  nudge(event) {
    const { first } = this;
    const ways = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };
    const way = ways[event.key];
    if (event.key === "Escape") { this.setMoving(false); this.setMarking(false); return true; }
    if (!way || !first.held || document.activeElement !== first.canvas) return false;
    event.preventDefault();
    const far = event.shiftKey ? 5 : 1;
    const [x, y] = first.where(first.held.joint);
    first.put(first.held.joint, x + way[0] * far, y + way[1] * far);
    if (first.ends) return true;
    clearTimeout(this.resting);
    this.resting = setTimeout(() => this.send(), 500);
    return true;
  }

  // A reply nobody has touched follows the numbers; an edited one is the coach's own.
  fillReply(text) {
    const field = this.page.querySelector("#reply");
    const untouched = field.value === field.defaultValue;
    field.defaultValue = text;
    if (untouched) field.value = text;
    return untouched ? "" : "Your reply is as you wrote it; fill it anew for the new numbers.";
  }

  async send(undo = "") {
    const { first } = this;
    const said = this.page.querySelector("#moved");
    const { joint } = first.held || {};
    if (!undo && !joint) return;
    const [x, y] = undo ? [] : first.where(joint);
    const body = await this.post(this.page.dataset.correct, undo ? { undo } : { frame: first.frame, joint, x, y }, said);
    if (!body) return;
    this.points = body.points;
    this.undos.forEach((button) => { button.disabled = !body.points; });
  }

  // Sends a change of the coach, and shows every number that follows from it.
  async post(address, change, said) {
    const { first } = this;
    said.textContent = "Reckoning anew…";
    let answer;
    try {
      answer = await fetch(address, {
        method: "POST",
        headers: { "Content-Type": "application/json", "X-Form-Token": this.token },
        body: JSON.stringify(change),
      });
    } catch {
      said.textContent = "The desk did not answer; nothing was kept. Try again.";
      return null;
    }
    const body = await answer.json();
    if (!answer.ok) {
      said.textContent = body.detail || "It was not kept.";
      const kept = await fetch(first.stage.dataset.track);
      if (kept.ok) Object.assign(first.track, await kept.json());
      first.draw();
      return null;
    }
    Object.assign(first.track, body.track);
    const numbers = this.page.querySelector("#numbers");
    numbers.innerHTML = body.html;
    window.htmx?.process(numbers);
    window.htmx?.trigger("#model", "moved");
    this.page.parentElement.querySelector("#film-line").textContent = body.line;
    said.textContent = `${body.said} ${this.fillReply(body.reply)}`;
    this.paintPhases();
    this.paintCurves();
    first.draw();
    this.follow();
    return body;
  }
}

const page = document.querySelector("[data-film]");
if (page) new Bench(page).open();
