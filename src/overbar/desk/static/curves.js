// The curves beside an athlete's plan: strength with its band, heights, body mass, pain.
import uPlot from "./vendor/uplot/uPlot.esm.js";

export function ink(name) {
  return getComputedStyle(document.documentElement).getPropertyValue(name).trim();
}

export function axis(size, format) {
  return {
    stroke: ink("--soft"),
    grid: { stroke: ink("--hair"), width: 1 },
    ticks: { show: false },
    font: "12px " + ink("--body"),
    size,
    values: format,
  };
}

const day = (iso) => Date.parse(iso + "T12:00:00Z") / 1000;
const MONTH = new Intl.DateTimeFormat("en-GB", { day: "numeric", month: "short", timeZone: "UTC" });
const asDay = (u, splits) => splits.map((at) => MONTH.format(new Date(at * 1000)));
// uPlot gives 12 px sans by default; a date needs room so that labels never meet.
const SPACE = 70;

// Draws whiskers of one standard deviation, a mark at each value, and a line between them.
function whiskers(sds, dashed) {
  return (u, series) => {
    const { ctx } = u;
    const xs = u.data[0];
    const ys = u.data[series];
    ctx.save();
    ctx.setLineDash([]);
    ctx.strokeStyle = ink("--deep");
    ctx.fillStyle = dashed ? ink("--paper") : ink("--deep");
    ctx.lineWidth = devicePixelRatio * 1.4;
    xs.forEach((x, i) => {
      if (ys[i] == null) return;
      const left = u.valToPos(x, "x", true);
      const top = u.valToPos(ys[i] + (sds[i] || 0), "y", true);
      const bottom = u.valToPos(ys[i] - (sds[i] || 0), "y", true);
      ctx.beginPath();
      ctx.moveTo(left, top);
      ctx.lineTo(left, bottom);
      ctx.stroke();
      ctx.beginPath();
      ctx.arc(left, u.valToPos(ys[i], "y", true), 3.2 * devicePixelRatio, 0, 7);
      ctx.fill();
      ctx.stroke();
    });
    ctx.restore();
  };
}

function level(value, words) {
  return (u) => {
    if (value == null) return;
    const y = u.valToPos(value, "y", true);
    if (y < u.bbox.top || y > u.bbox.top + u.bbox.height) return;
    const { ctx } = u;
    ctx.save();
    ctx.setLineDash([]);
    ctx.strokeStyle = ink("--ink");
    ctx.lineWidth = 2 * devicePixelRatio;
    ctx.beginPath();
    ctx.moveTo(u.bbox.left, y);
    ctx.lineTo(u.bbox.left + u.bbox.width, y);
    ctx.stroke();
    ctx.fillStyle = ink("--ink");
    ctx.font = `${11 * devicePixelRatio}px ${ink("--body")}`;
    ctx.textAlign = "left";
    const above = y - 5 * devicePixelRatio;
    const room = above - 12 * devicePixelRatio > u.bbox.top;
    ctx.fillText(words, u.bbox.left + 4 * devicePixelRatio, room ? above : y + 13 * devicePixelRatio);
    ctx.restore();
  };
}

function frame(box, height, extra) {
  return {
    width: Math.max(box.clientWidth, 200),
    height,
    legend: { show: false },
    cursor: { y: false, points: { show: false } },
    padding: [10, 10, 0, 0],
    ...extra,
  };
}

function fitted(plot, box) {
  new ResizeObserver(() => {
    if (box.clientWidth && Math.abs(box.clientWidth - plot.width) > 1) {
      plot.setSize({ width: box.clientWidth, height: plot.height });
    }
  }).observe(box);
  return plot;
}

function range(values, needs, room) {
  const all = [...values, needs].filter((v) => v != null && Number.isFinite(v));
  const low = Math.min(...all);
  const high = Math.max(...all);
  const pad = Math.max((high - low) * 0.12, room);
  return [low - pad, high + pad];
}

const figures = {
  strength(box, data) {
    const { on, R, low, high, needs } = data.strength;
    if (!on.length) return null;
    const bounds = range([...low, ...high], needs, 0.02);
    return new uPlot(frame(box, 190, {
      scales: { x: { time: true }, y: { range: bounds } },
      axes: [{ ...axis(28, asDay), space: SPACE }, axis(44, (u, s) => s.map((v) => v.toFixed(2)))],
      bands: [{ series: [3, 2], fill: ink("--band") }],
      series: [
        {},
        { stroke: ink("--deep"), width: 2, points: { show: on.length < 3 } },
        { stroke: "transparent", points: { show: false } },
        { stroke: "transparent", points: { show: false } },
      ],
      hooks: { draw: [level(needs, `gate ${needs?.toFixed(2)}`)] },
    }), [on.map(day), R, low, high], box);
  },
  heights(box, data, figure) {
    const { swing, strict, unit } = data.heights;
    figure.querySelector("[data-unit]").textContent = unit;
    const days = [...new Set([...swing.on, ...strict.on])].sort();
    if (!days.length) return null;
    const along = (one, key) => days.map((d) => { const i = one.on.indexOf(d); return i < 0 ? null : one[key][i]; });
    const needs = swing.needs ?? strict.needs;
    const bounds = range([...swing.height, ...strict.height, 0], needs, 1);
    const which = swing.needs != null ? "swing" : "strict";
    return new uPlot(frame(box, 190, {
      scales: { x: { time: true }, y: { range: bounds } },
      axes: [{ ...axis(28, asDay), space: SPACE }, axis(44, (u, s) => s.map((v) => `${v > 0 ? "+" : ""}${v}`.replace("-", "−")))],
      series: [
        {},
        { stroke: ink("--deep"), width: 1.6, spanGaps: true, points: { show: false } },
        { stroke: ink("--deep"), width: 1.6, spanGaps: true, dash: [5, 5], points: { show: false } },
      ],
      hooks: {
        draw: [
          level(0, "the bar"),
          level(needs, `gate, ${which}`),
          (u) => whiskers(along(swing, "sd"), false)(u, 1),
          (u) => whiskers(along(strict, "sd"), true)(u, 2),
        ],
      },
    }), [days.map(day), along(swing, "height"), along(strict, "height")], box);
  },
  body(box, data, figure) {
    const { on, mass, unit } = data.body;
    if (on.length < 2) return null;
    figure.querySelector("[data-unit]").textContent = unit;
    return new uPlot(frame(box, 110, {
      scales: { x: { time: true }, y: { range: range(mass, null, 0.5) } },
      axes: [{ ...axis(28, asDay), space: SPACE }, axis(44)],
      series: [{}, { stroke: ink("--ink"), width: 1.5, points: { show: false } }],
    }), [on.map(day), mass], box);
  },
  pain(box, data) {
    const { on, worst, morning } = data.pain;
    if (!on.length || !worst.some((v) => v > 0)) return null;
    const bars = uPlot.paths.bars({ size: [0.5, 14] });
    return new uPlot(frame(box, 120, {
      scales: { x: { time: true }, y: { range: [0, 10] } },
      axes: [{ ...axis(28, asDay), space: SPACE }, axis(44)],
      series: [
        {},
        { stroke: ink("--ink"), fill: ink("--ink"), width: 1, paths: bars, points: { show: false } },
        { stroke: ink("--deep"), fill: ink("--paper"), paths: () => null, points: { show: true, size: 7 } },
      ],
    }), [on.map(day), worst, morning], box);
  },
};

async function draw(root) {
  const answer = await fetch(root.dataset.curves);
  if (!answer.ok) return;
  const data = await answer.json();
  root.querySelectorAll("[data-curve]").forEach((figure) => {
    const box = figure.querySelector(".plot");
    figure.hidden = false;
    box.replaceChildren();
    const plot = figures[figure.dataset.curve](box, data, figure);
    if (plot) fitted(plot, box);
    else figure.hidden = true;
  });
  root.dataset.drawn = "yes";
}

const roots = () => document.querySelectorAll("[data-curves]");
roots().forEach(draw);
matchMedia("(prefers-color-scheme: dark)").addEventListener("change", () => roots().forEach(draw));
