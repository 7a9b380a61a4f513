"""What the coach adds to a reading: points put right, a marked length, an athlete's height calibration."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlalchemy import Connection, delete, insert, select

from overbar.film.reading import Calibration, KnownLength, Reading
from overbar.records import schema
from overbar.records.written import from_plain, to_plain


@dataclass(frozen=True)
class KeptCalibration:
    """An athlete's height calibration and where it comes from.

    Attributes
    ----------
    value : Calibration
    made_at : datetime.datetime
    made_by : str
    film_sha256 : str or None
        The film of the holds.
    holds : mapping of str to float
        Time of each hold in that film, s, by its name.
    """

    value: Calibration
    made_at: datetime
    made_by: str
    film_sha256: str | None
    holds: Mapping[str, float]


def reckoned(
    original: Reading,
    points: Sequence[Mapping[str, Any]],
    known_length: KnownLength | None,
    calibration: Calibration | None,
) -> Reading:
    """Return a reading with everything the coach added to it, in an order that never changes.

    Parameters
    ----------
    original : Reading
        As the film room read the film.
    points : sequence of mapping
        Points put right, as :func:`overbar.film.reread` takes them.
    known_length : KnownLength or None
        A length marked in the picture.
    calibration : Calibration or None
        How far this athlete's heights read off.

    Its faults are judged by the limits in force, also when nothing was added.
    """
    from overbar.film import recalibrate, rejudge, reread, rescale
    from overbar.film.faults import limits_mark

    reading = reread(original, points)
    if known_length != reading.known_length:
        reading = rescale(reading, known_length)
    if calibration != reading.calibration:
        reading = recalibrate(reading, calibration)
    return reading if reading.judged_by == limits_mark() else rejudge(reading)


def calibration_of(connection: Connection, athlete_id: str) -> KeptCalibration | None:
    """Return an athlete's height calibration, or None."""
    table = schema.height_calibrations
    row = connection.execute(select(table).where(table.c.athlete_id == athlete_id)).first()
    if row is None:
        return None
    value = from_plain(Calibration, row.value, "height calibration")
    return KeptCalibration(value, row.made_at, row.made_by, row.film_sha256, dict(row.holds))


def keep_calibration(connection: Connection, athlete_id: str, kept: KeptCalibration | None) -> None:
    """Keep an athlete's height calibration in place of an earlier one; None takes it away."""
    table = schema.height_calibrations
    connection.execute(delete(table).where(table.c.athlete_id == athlete_id))
    if kept is not None:
        values = {
            "athlete_id": athlete_id,
            "made_at": kept.made_at,
            "made_by": kept.made_by,
            "film_sha256": kept.film_sha256,
            "holds": dict(kept.holds),
            "value": to_plain(kept.value),
        }
        connection.execute(insert(table).values(values))
