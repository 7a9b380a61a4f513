"""Records in a fresh folder, with one athlete and a day that stands still."""

from collections.abc import Iterator
from datetime import UTC, date, datetime
from pathlib import Path

import pytest

from overbar.athlete.kit import Band, Kit
from overbar.athlete.person import Athlete
from overbar.ladder import load_ladder
from overbar.records import Records, open_records
from overbar.records.pieces import Ground
from overbar.settings import Settings

TODAY = date(2026, 4, 27)
NOW = datetime(2026, 4, 27, 9, 0, tzinfo=UTC)


def someone(athlete_id: str = "tove", **more: object) -> Athlete:
    values: dict[str, object] = {
        "id": athlete_id,
        "name": athlete_id.capitalize() + " Ashdown",
        "sex": "f",
        "born": date(1990, 2, 3),
        "stature_m": 1.70,
        "body_mass_kg": 64.0,
        "joined": date(2026, 1, 5),
        "time_zone": "Pacific/Auckland",
        "kit": Kit(bands=(Band("thin blue", 11.0, 4.0),)),
    }
    return Athlete(**(values | more))  # type: ignore[arg-type]


@pytest.fixture
def settings(tmp_path: Path) -> Settings:
    return Settings(records=tmp_path / "records", cache=tmp_path / "cache")


@pytest.fixture
def records(settings: Settings) -> Iterator[Records]:
    kept = open_records(settings, clock=lambda: NOW)
    kept.save_athlete(someone())
    yield kept
    kept.close()


@pytest.fixture(scope="session")
def ground() -> Ground:
    return Ground(
        today=TODAY,
        ladder=load_ladder(),
        unit="kg",
        body_mass_kg=((date(2026, 1, 5), 78.0),),
        bands={"thin blue": 7.5},
    )
