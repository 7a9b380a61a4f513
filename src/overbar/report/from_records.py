"""The block report of an athlete, from the records to the PDF."""

from __future__ import annotations

from datetime import date, timedelta

from overbar.planning.outlook import look_ahead
from overbar.records import Records
from overbar.records.kept_strength import strength_on
from overbar.report.block import USUAL_WEEKS, BlockReport, block_report
from overbar.report.current import current_week
from overbar.report.frames import best_frames
from overbar.report.pdf import typeset


def report_from_records(
    records: Records, athlete_id: str, on: date, weeks: int = USUAL_WEEKS
) -> tuple[BlockReport, bytes]:
    """Return an athlete's block report, in values and as PDF.

    Parameters
    ----------
    records : Records
    athlete_id : str
    on : datetime.date
        Last day of the block, where the athlete is.
    weeks : int
        Length of the block.
    """
    history = records.history(athlete_id, on)
    ladder = records.ladder_for(athlete_id)
    first = on - timedelta(days=on.weekday(), weeks=weeks)
    current = current_week(records, athlete_id, on)
    strength = strength_on(records, history, ladder, on)
    ahead = look_ahead(history, ladder, on, strength.points, strength.newest)
    block = block_report(
        history=history,
        current=current.week,
        agreed=current.agreed,
        stored=records.weeks(athlete_id),
        ladder=ladder,
        house=records.house(),
        on=on,
        weeks=weeks,
        outlook=[item.say() for gate in ahead.look() for item in gate.items if not item.reached],
        assumes="; ".join(ahead.usual.assumes()),
        strength=strength.points,
    )
    return block, typeset(block, best_frames(records, athlete_id, ladder, first, on))
