"""A small chart as SVG, in greys that print: line, interval and a mark."""

from __future__ import annotations

import math
from collections.abc import Callable
from datetime import date
from xml.sax.saxutils import escape

from overbar.report.block import Chart, Line

WIDTH, HEIGHT = 340.0, 150.0
LEFT, RIGHT, TOP, BOTTOM = 40.0, 8.0, 8.0, 20.0
DASHES = ("", "5 3")
FONT = 'font-family="Libertinus Serif" font-size="10"'


def svg_of(chart: Chart) -> str:
    """Draw a chart.

    Parameters
    ----------
    chart : Chart
        At least one line with at least one point.

    Returns
    -------
    str
        SVG of 340 by 150 units.
    """
    points = [point for line in chart.lines for point in line.points]
    first, last = min(p.on for p in points), max(p.on for p in points)
    values = [end for p in points for end in (p.low, p.high)] + ([] if chart.mark is None else [chart.mark])
    low, high = min(values), max(values)
    room = (high - low) * 0.06 or 0.5
    low, high = low - room, high + room

    def x(on: date) -> float:
        share = (on - first).days / max(1, (last - first).days)
        return LEFT + share * (WIDTH - LEFT - RIGHT)

    def y(value: float) -> float:
        return TOP + (high - value) / (high - low) * (HEIGHT - TOP - BOTTOM)

    parts = [f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH:g} {HEIGHT:g}">']
    for value in _ticks(low, high):
        at = y(value)
        parts.append(f'<path d="M{LEFT} {at:.1f}H{WIDTH - RIGHT}" stroke="#ccc" stroke-width="0.5"/>')
        parts.append(f'<text x="{LEFT - 4}" y="{at + 3:.1f}" text-anchor="end" {FONT}>{value:g}</text>')
    if chart.mark is not None:
        at = y(chart.mark)
        parts.append(f'<path d="M{LEFT} {at:.1f}H{WIDTH - RIGHT}" stroke="#000" stroke-width="0.8"/>')
        beside = f'x="{WIDTH - RIGHT}" y="{at - 3:.1f}" text-anchor="end"'
        parts.append(f"<text {beside} {FONT}>{escape(chart.mark_say)}</text>")
    for line, dash in zip(chart.lines, DASHES, strict=False):
        parts += _line(line, dash, x, y)
    for on, anchor in ((first, "start"), (last, "end")):
        text = f"{on.day} {on:%b}"
        parts.append(f'<text x="{x(on):.1f}" y="{HEIGHT - 5}" text-anchor="{anchor}" {FONT}>{text}</text>')
    if len(chart.lines) > 1:
        for n, (line, dash) in enumerate(zip(chart.lines, DASHES, strict=False)):
            at = LEFT + 70 + n * 90
            stroke = f'stroke="#000" stroke-dasharray="{dash}" stroke-width="1.4"'
            parts.append(f'<path d="M{at} {HEIGHT - 8}h18" {stroke}/>')
            parts.append(f'<text x="{at + 22}" y="{HEIGHT - 5}" {FONT}>{escape(line.name)}</text>')
    return "".join(parts) + "</svg>"


def _line(line: Line, dash: str, across: Callable[[date], float], up: Callable[[float], float]) -> list[str]:
    points = sorted(line.points, key=lambda point: point.on)
    path = "L".join(f"{across(p.on):.1f} {up(p.value):.1f}" for p in points)
    parts = [
        f'<path d="M{across(p.on):.1f} {up(p.low):.1f}V{up(p.high):.1f}" stroke="#888" stroke-width="1"/>'
        for p in points
        if p.high > p.low
    ]
    parts.append(
        f'<path d="M{path}" fill="none" stroke="#000" stroke-width="1.4" stroke-dasharray="{dash}"/>'
    )
    parts += [f'<circle cx="{across(p.on):.1f}" cy="{up(p.value):.1f}" r="1.6"/>' for p in points]
    return parts


def _ticks(low: float, high: float) -> list[float]:
    """Three to six round numbers within the range."""
    rough = (high - low) / 4
    power = 10.0 ** math.floor(math.log10(rough))
    step = next(power * factor for factor in (1, 2, 2.5, 5, 10) if power * factor >= rough)
    start = math.ceil(low / step)
    found = []
    while start * step <= high:
        found.append(round(start * step, 10))
        start += 1
    return found
