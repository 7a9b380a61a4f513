"""The desk with a thousand athletes and two years of logs: how long a page takes (goal: p95 <= 100 ms)."""

from __future__ import annotations

import sys
import tempfile
import threading
import time
import urllib.request
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path

from sqlalchemy import text

from overbar.athlete.kit import Bar, Kit, Plate
from overbar.athlete.person import Athlete
from overbar.athlete.screening import Screening
from overbar.planning.history import BodyNote, SessionLog
from overbar.records import House, Records, open_records
from overbar.settings import read_settings
from overbar.strength.sets import LoggedSet

ATHLETES = 1000
WEEKS = 104
TODAY = date(2026, 4, 27)
VISITS = 60
PORT = 8771


def one_athlete() -> Athlete:
    """Return an athlete with two years behind."""
    kit = Kit("belt", (Plate(10, 2), Plate(5, 2), Plate(2.5, 2), Plate(1.25, 2)), bars=(Bar("rig", True),))
    answers = Screening(TODAY, True, False, False, False, False, False)
    begun = TODAY - timedelta(weeks=WEEKS)
    return Athlete(
        "a0000", "Athlete 0000", "m", date(1994, 1, 1), 1.78, 78.0, begun, kit=kit, screening=answers
    )


def fill(records: Records, count: int) -> None:
    """Log two years for one athlete through the records, then copy them for the others."""
    first = one_athlete()
    records.set_house(House(fixed_today=TODAY))
    records.save_athlete(first)
    sets, sessions, body = [], [], []
    for week in range(WEEKS):
        added = min(week // 4 * 1.25, 20.0)
        for number, label in enumerate("ABC"):
            on = first.joined + timedelta(weeks=week, days=2 * number)
            sessions.append(SessionLog(on, label, True, 7.0, 55.0))
            body.append(BodyNote(on, 78.0 - week * 0.02, 7.2))
            for order, reps in enumerate((5, 5, 4, 4)):
                one = LoggedSet(on, "weighted_pull_up" if added else "strict_pull_up", 78.0, added, reps, 1.0)
                sets.append(replace(one, session=label, order=order))
    records.add_sets(first.id, sets, "bench")
    for session, note in zip(sessions, body, strict=True):
        records.add_session(first.id, session)
        records.add_body(first.id, note)
    for n in range(1, count):
        records.save_athlete(replace(first, id=f"a{n:04d}", name=f"Athlete {n:04d}"))
    with records.engine.begin() as connection:
        for table in ("sets", "sessions", "body"):
            names = [row[1] for row in connection.execute(text(f"PRAGMA table_info({table})"))]
            columns = [f'"{name}"' for name in names if name not in ("id", "athlete_id")]
            kept, taken = ", ".join(columns), ", ".join(f"{table}.{name}" for name in columns)
            connection.execute(
                text(
                    f"INSERT INTO {table} (athlete_id, {kept}) SELECT athletes.id, {taken} FROM {table} "
                    f"JOIN athletes ON athletes.id <> 'a0000' WHERE {table}.athlete_id = 'a0000'"
                )
            )


def visits(address: str, count: int = VISITS) -> list[float]:
    """Return the seconds each visit of an address took, sorted."""
    took = []
    for _ in range(count):
        began = time.perf_counter()
        with urllib.request.urlopen(address, timeout=60) as answer:
            answer.read()
        took.append(time.perf_counter() - began)
    return sorted(took)


def main(count: int = ATHLETES) -> None:
    """Print the median and the 95th percentile of the pages a coach opens most."""
    import uvicorn

    from overbar.cli.serve import desk_and_sheets

    with tempfile.TemporaryDirectory() as folder:
        records = open_records(read_settings(Path(folder) / "records"))
        began = time.perf_counter()
        fill(records, count)
        print(f"{count} athletes, {WEEKS} weeks, made in {time.perf_counter() - began:.0f} s")
        app = desk_and_sheets(records)
        server = uvicorn.Server(uvicorn.Config(app, port=PORT, log_level="error"))
        thread = threading.Thread(target=server.run, daemon=True)
        began = time.perf_counter()
        thread.start()
        board = app.state.desk.board
        while not board.whole:
            time.sleep(0.2)
        took = time.perf_counter() - began
        each = took / count * 1000
        print(f"every line reckoned in the background in {took:.1f} s, {each:.1f} ms each")
        print("(strength estimated from two years each; it is kept, and goes on from there next time)")
        for name, path in (
            ("today", "/"),
            ("athlete", f"/athletes/a{count // 2:04d}"),
            ("curves", f"/athletes/a{count // 2:04d}/curves.json"),
            ("outlook", f"/athletes/a{count // 2:04d}/outlook?missed=14"),
            ("films", "/films"),
            ("ladder", "/ladder"),
            ("gate", f"/ladder/{records.ladder_of_skill('bar_muscle_up').version}/entry?kind=gate&key=G4"),
            ("who", f"/ladder/{records.ladder_of_skill('bar_muscle_up').version}/who"),
        ):
            seen = visits(f"http://127.0.0.1:{PORT}{path}")
            median, late = seen[len(seen) // 2], seen[int(len(seen) * 0.95)]
            print(f"{name:8} median {median * 1000:6.1f} ms   p95 {late * 1000:6.1f} ms")
        server.should_exit = True
        thread.join(timeout=20)
        records.close()


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 and sys.argv[1].isdigit() else ATHLETES)
