"""Reading waiting films, and solving for waiting bodies, in the background.

The database holds what is to be done; this does it. A worker keeps its work by
renewing a lease with every report of progress, from a thread of its own so that a
long step does not lose it. A worker that is killed stops renewing, and the work
is started again by the next one.
"""

from __future__ import annotations

import logging
import os
import socket
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from overbar.errors import NotFound, NotSetUp, OverbarError, UnusableFilm
from overbar.film.faults import judged_by
from overbar.film.reading import Reading
from overbar.progress import Progress
from overbar.records.forget import erase_due
from overbar.records.judging import judge_anew, ladders_changed
from overbar.records.queue import LEASE, Task
from overbar.records.solves import SolveTask
from overbar.records.store import Records, open_records
from overbar.settings import Settings

log = logging.getLogger(__name__)

PAUSE_S = 1.0
"""How long an idle worker waits before it looks again, s."""
TIDY_S = 3600.0
"""How often films whose time is over are looked for, s."""
RENEW_S = LEASE.total_seconds() / 4
"""How often the lease is renewed, s."""
Reader = Callable[[Path, float, float | None, Progress, Path], Reading]
"""Reads a film: file, stature in m, body mass in kg, progress, folder of the nets."""
Solver = Callable[[dict[str, Any], Progress], dict[str, Any]]
"""Solves for a body: what was asked, progress; gives the answer to keep."""


def work(
    settings: Settings,
    stop: threading.Event | None = None,
    reader: Reader | None = None,
    solver: Solver | None = None,
) -> None:
    """Read waiting films, solve for waiting bodies, judge faults by moved limits, erase films in time.

    Parameters
    ----------
    settings : Settings
        Where records and nets are.
    stop : threading.Event, optional
        Set it to end after the work in hand; without it this runs until killed.
    reader, solver : callable, optional
        What reads a film and what solves for a body; by default the film room and the body model.
    """
    stop = stop or threading.Event()
    records = open_records(settings)
    tidied: float | None = None
    judged_for: object = None
    try:
        while not stop.is_set():
            try:
                if tidied is None or time.monotonic() - tidied > TIDY_S:
                    erase_due(records)
                    tidied, judged_for = time.monotonic(), None
                changed = ladders_changed(records)
                if changed != judged_for:
                    judge_anew(records, stop=stop)
                    judged_for = changed
                found = read_next(records, reader) or solve_next(records, solver)
            except OverbarError as error:
                log.warning("%s", error.say())
                found = False
            if not found:
                stop.wait(PAUSE_S)
    finally:
        records.close()


def read_next(records: Records, reader: Reader | None = None, worker: str = "") -> bool:
    """Read the next waiting film; return whether there was one."""
    task = records.claim_reading(worker or _own_name())
    if task is None:
        return False
    with _kept_alive(lambda share, doing: records.renew_reading(task, share, doing)) as progress:
        outcome, status, problem = _read(records, task, reader or _film_room, progress)
    records.finish_reading(task, outcome, status, problem)
    return True


def solve_next(records: Records, solver: Solver | None = None, worker: str = "") -> bool:
    """Solve for the next waiting body; return whether there was one."""
    task = records.claim_solve(worker or _own_name())
    if task is None:
        return False
    with _kept_alive(lambda share, doing: records.renew_solve(task, share, doing)) as progress:
        outcome = _solve(task, solver or _body_model, progress)
    records.finish_solve(task, outcome)
    return True


def _solve(task: SolveTask, solver: Solver, progress: Progress) -> dict[str, Any] | str:
    try:
        return solver(task.asked, progress)
    except OverbarError as error:
        return error.say()
    except Exception as error:  # a body must never stop the worker
        log.exception("solving %s failed", task.asked)
        return f"The full solve failed: {type(error).__name__}."


def _body_model(asked: dict[str, Any], progress: Progress) -> dict[str, Any]:
    from overbar.mechanics.full_solve import solve_asked

    return solve_asked(asked, progress)


def _read(records: Records, task: Task, reader: Reader, progress: Progress) -> tuple[Reading | str, str, str]:
    """Return what a film says or why it says nothing, its status, and the problem's id."""
    try:
        row = records.film(task.film_sha256)
        athlete = records.athlete(row.athlete_id)
        on = row.filmed_at.date()
        mass = records.body_mass_on(athlete.id, on)
        path = records.film_file(row.sha256)
        with judged_by(records.ladder_for(athlete.id)):
            return reader(path, athlete.stature_m, mass, progress, records.settings.cache), "read", ""
    except UnusableFilm as error:
        return error.say(), "unusable", error.problem
    except (NotSetUp, NotFound, OverbarError) as error:
        return error.say(), "failed", ""
    except Exception as error:  # a film must never stop the worker
        log.exception("reading %s failed", task.film_sha256)
        return f"Reading it failed: {type(error).__name__}.", "failed", ""


def _film_room(
    path: Path, stature_m: float, mass_kg: float | None, progress: Progress, cache: Path
) -> Reading:
    from overbar.film import read_film

    return read_film(path, stature_m, mass_kg=mass_kg, progress=progress, cache=cache)


@contextmanager
def _kept_alive(renewed: Callable[[float, str], bool]) -> Iterator[Progress]:
    """Renew the lease while the body runs, and give the progress it is to report to."""
    latest = (0.0, "starting")
    over = threading.Event()

    def report(share: float, doing: str) -> None:
        nonlocal latest
        latest = (share, doing)

    def renew() -> None:
        told, told_at = latest, time.monotonic()
        while not over.wait(PAUSE_S):
            if latest != told or time.monotonic() - told_at > RENEW_S:
                told, told_at = latest, time.monotonic()
                if not renewed(*told):
                    return

    thread = threading.Thread(target=renew, name="lease", daemon=True)
    thread.start()
    try:
        yield report
    finally:
        over.set()
        thread.join()


def _own_name() -> str:
    return f"{socket.gethostname()}:{os.getpid()}:{threading.get_ident()}"


def is_dead(worker: str) -> bool:
    """Say whether a worker of this machine is known to have ended; one of another machine never is."""
    host, _, rest = worker.partition(":")
    pid = rest.partition(":")[0]
    if host != socket.gethostname() or not pid.isdigit() or os.name != "posix":
        return False
    try:
        os.kill(int(pid), 0)
    except ProcessLookupError:
        return True
    except PermissionError:
        return False
    return False
