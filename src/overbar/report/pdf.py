"""The block report as PDF, set by Typst without any font or file of the system."""

from __future__ import annotations

import json
import tempfile
from dataclasses import asdict
from pathlib import Path
from typing import Any, Literal

from overbar.report.block import BlockReport
from overbar.report.chart import svg_of
from overbar.report.frames import Picture

PICTURE_PPI = 110.0
PAGE = Path(__file__).parent / "page.typ"


def typeset(
    report: BlockReport, pictures: tuple[Picture, ...] = (), form: Literal["pdf", "png"] = "pdf"
) -> Any:
    """Set a block report.

    Parameters
    ----------
    report : BlockReport
    pictures : tuple of Picture
        Frames of films, at most three.
    form : {"pdf", "png"}

    Returns
    -------
    bytes or list of bytes
        The PDF, or one PNG a page.
    """
    import typst

    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        plain = asdict(report)
        plain["charts"] = []
        for n, chart in enumerate(report.charts):
            (folder / f"chart{n}.svg").write_text(svg_of(chart), encoding="utf-8")
            plain["charts"].append({"title": chart.title, "file": f"chart{n}.svg"})
        plain["pictures"] = []
        for n, picture in enumerate(pictures):
            (folder / f"picture{n}.png").write_bytes(picture.png)
            plain["pictures"].append({"say": picture.say, "file": f"picture{n}.png"})
        (folder / "report.json").write_text(json.dumps(plain, default=str), encoding="utf-8")
        (folder / "page.typ").write_text(PAGE.read_text(encoding="utf-8"), encoding="utf-8")
        page, root = str(folder / "page.typ"), str(folder)
        return typst.compile(page, root=root, format=form, ignore_system_fonts=True, ppi=PICTURE_PPI)
