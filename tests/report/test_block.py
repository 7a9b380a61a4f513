"""The block report: two pages, in grey, everything a block report must show (handbook trade.md 7.3)."""

import re
from collections.abc import Iterator
from dataclasses import replace
from datetime import date

import numpy as np
import pytest

from overbar.demo import build_demo
from overbar.ladder import load_ladder
from overbar.records import Records, open_records
from overbar.report.block import BlockReport, Chart, Line, Point, block_report, success_interval
from overbar.report.chart import svg_of
from overbar.report.current import current_week
from overbar.report.frames import Picture, best_frames, frame_at
from overbar.report.pdf import typeset

TODAY, FIRST = date(2026, 4, 27), date(2026, 3, 2)


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Records]:
    records = open_records(build_demo(tmp_path_factory.mktemp("demo") / "records"))
    yield records
    records.close()


def report_of(demo: Records, athlete_id: str, weeks: int = 6) -> BlockReport:
    current = current_week(demo, athlete_id, TODAY)
    history = demo.history(athlete_id, TODAY)
    return block_report(
        history=history,
        current=current.week,
        agreed=current.agreed,
        stored=demo.weeks(athlete_id),
        ladder=load_ladder(history.athlete.skill),
        house=demo.house(),
        on=TODAY,
        weeks=weeks,
        outlook=[f"one of the gate's items: between June and August of the year ({n})." for n in range(8)],
        assumes="training days a week: 3, kept as well as so far; 7 h of sleep; body mass unchanged",
    )


@pytest.mark.parametrize("athlete_id", ["bram", "davit", "ines"])
@pytest.mark.parametrize("weeks", [1, 6, 8])
def test_it_fits_on_two_pages(demo: Records, athlete_id: str, weeks: int) -> None:
    ladder = load_ladder()
    report = report_of(demo, athlete_id, weeks)
    pages = typeset(report, best_frames(demo, athlete_id, ladder, FIRST, TODAY), "png")
    assert len(pages) == 2


def test_it_prints_in_grey_but_for_the_frames(demo: Records) -> None:
    import cv2

    for page in typeset(report_of(demo, "davit"), (), "png"):
        picture = cv2.imdecode(np.frombuffer(page, np.uint8), cv2.IMREAD_COLOR).astype(int)
        assert np.abs(picture - picture.mean(axis=2, keepdims=True)).max() < 2


def test_it_is_a_pdf(demo: Records) -> None:
    assert typeset(report_of(demo, "davit")).startswith(b"%PDF-")


def test_it_shows_what_it_must(demo: Records) -> None:
    report = report_of(demo, "bram")
    assert report.goal
    assert report.rung
    assert report.short
    assert any("R:" in line and "90 % interval" in line for line in report.summary)
    assert any("Body mass" in line for line in report.summary)
    assert [row.sessions for row in report.weeks][2].startswith("0 of 3 (family holiday")
    assert [row.fault for row in report.faults] == ["Low pull"]
    assert report.sessions
    assert report.cautions
    assert any("not a medical opinion" in line for line in report.limits)
    assert "invented" in report.notice


def test_pain_and_what_the_coach_said_stand_in_the_weeks(demo: Records) -> None:
    rows = report_of(demo, "ines").weeks
    assert rows[-1].pain == "4 inner elbow right, next morning 3"
    assert rows[-1].tries == "7 of 10"
    assert any("accepted: " in row.coach for row in rows)


def test_every_measured_number_carries_its_uncertainty(demo: Records) -> None:
    for line in report_of(demo, "davit").summary:
        if "L," in line:
            assert "±" in line
        if line.startswith("Strength") or line.startswith("Tries"):
            assert "90 %" in line


def test_no_other_athletes_data_is_in_it(demo: Records) -> None:
    text = repr(report_of(demo, "davit"))
    assert "Ines" not in text
    assert "Bram" not in text


def test_an_athlete_with_nothing_logged_has_a_report_that_says_so(demo: Records) -> None:
    history = demo.history("davit", date(2026, 1, 4))
    current = current_week(demo, "davit", TODAY)
    report = block_report(
        history=replace(history, sets=(), body=(), weeks=()),
        current=current.week,
        agreed=False,
        stored=(),
        ladder=load_ladder(),
        house=demo.house(),
        on=date(2026, 1, 4),
    )
    assert report.charts == ()
    assert {row.pain for row in report.weeks} == {"not scored"}
    assert len(typeset(report, (), "png")) == 2


def test_the_chance_of_a_valid_try_is_jeffreys_interval() -> None:
    """Brown, Cai and DasGupta 2001: 90 % Jeffreys interval; the whole of nothing is 0 to 1 (from memory)."""
    low, high = success_interval(7, 10)
    assert 0.43 < low < 0.45
    assert 0.88 < high < 0.90
    assert success_interval(0, 0)[1] > 0.95


def test_a_chart_draws_every_point_and_interval() -> None:
    points = tuple(Point(date(2026, 4, n), n / 10, n / 10 - 0.1, n / 10 + 0.1) for n in range(1, 6))
    svg = svg_of(Chart("x", "L", (Line("strict", points), Line("with <swing>", points)), 0.0, "bar"))
    assert svg.count("<circle") == 10
    assert svg.count('stroke="#888"') == 10
    assert "with &lt;swing&gt;" in svg
    assert not re.search(r"nan|inf", svg)


def test_a_chart_of_a_single_value_can_be_drawn() -> None:
    svg = svg_of(Chart("x", "", (Line("R", (Point(date(2026, 4, 1), 1.2, 1.2, 1.2),)),)))
    assert svg.count("<circle") == 1


def test_the_frame_of_a_time_is_the_one_shown_then(demo: Records) -> None:
    row = demo.films("davit")[0]
    first, later = (frame_at(demo.film_file(row.sha256), at) for at in (0.0, 1.0))
    assert first is not None
    assert first != later
    assert frame_at(demo.film_file(row.sha256), 1e6) is None


def test_frames_come_with_their_height_and_its_uncertainty(demo: Records) -> None:
    pictures = best_frames(demo, "davit", load_ladder(), FIRST, TODAY)
    assert len(pictures) == 3
    assert all(isinstance(one, Picture) and "±" in one.say for one in pictures)
