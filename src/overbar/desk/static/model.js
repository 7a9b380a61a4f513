// The body model's figure, alone or with the athlete's own, at a moment of its time.
import { ink } from "./curves.js";

const CHAIN = ["elbow", "shoulder", "hip", "knee", "ankle"];

export class ModelFigure {
  constructor(figure, drawn) {
    const data = JSON.parse(drawn);
    this.t = data.t;
    this.bodies = data.own ? [[data.model, [6, 5], ink("--soft")], [data.own, [], ink("--deep")]] : [[data.model, [], ink("--deep")]];
    this.canvas = figure.querySelector("canvas");
    const places = this.bodies.flatMap(([body]) => CHAIN.flatMap((part) => body[part])).concat([[0, 0]]);
    const [xs, ys] = [places.map((place) => place[0]), places.map((place) => place[1])];
    this.box = { left: Math.min(...xs) - 0.25, right: Math.max(...xs) + 0.25, low: Math.min(...ys) - 0.15, high: Math.max(...ys) + 0.4 };
    this.seconds = this.t[0];
    new ResizeObserver(() => this.draw(this.seconds)).observe(this.canvas);
  }

  draw(seconds) {
    this.seconds = seconds;
    const { canvas, t, box } = this;
    const rect = canvas.getBoundingClientRect();
    canvas.width = Math.round(rect.width * devicePixelRatio);
    canvas.height = Math.round(rect.height * devicePixelRatio);
    const scale = Math.min(canvas.width / (box.right - box.left), canvas.height / (box.high - box.low));
    const middle = canvas.width / 2 - ((box.left + box.right) / 2) * scale;
    const at = ([x, y]) => [middle + x * scale, (box.high - y) * scale];
    const inside = Math.min(Math.max(seconds, t[0]), t[t.length - 1]);
    let i = 0;
    while (i < t.length - 2 && t[i + 1] < inside) i += 1;
    const share = (inside - t[i]) / (t[i + 1] - t[i]);
    const ctx = canvas.getContext("2d");
    ctx.lineCap = "round";
    ctx.lineJoin = "round";
    for (const [body, dash, colour] of this.bodies) {
      ctx.setLineDash(dash.map((length) => length * devicePixelRatio));
      ctx.strokeStyle = colour;
      ctx.lineWidth = 3 * devicePixelRatio;
      ctx.beginPath();
      ctx.moveTo(...at([0, 0]));
      for (const part of CHAIN) {
        const [one, other] = [body[part][i], body[part][i + 1]];
        ctx.lineTo(...at([one[0] + share * (other[0] - one[0]), one[1] + share * (other[1] - one[1])]));
      }
      ctx.stroke();
    }
    ctx.setLineDash([]);
    ctx.fillStyle = ink("--ink");
    ctx.beginPath();
    ctx.arc(...at([0, 0]), 5 * devicePixelRatio, 0, 7);
    ctx.fill();
    canvas.dataset.at = inside.toFixed(3);
  }
}
