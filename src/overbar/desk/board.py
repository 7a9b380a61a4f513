"""The day's lines, and what everybody's tries and first logs say of others, kept ready for a thousand."""

from __future__ import annotations

import logging
import threading
import time
from pathlib import Path

from overbar.desk.pictures import throw_out
from overbar.desk.proposal import line_of, propose
from overbar.desk.today import DayLine, broken_line
from overbar.errors import OverbarError
from overbar.mechanics.margins import LoggedAttempt
from overbar.planning.body_tries import body_tries
from overbar.records import Records
from overbar.records.films import FilmRow
from overbar.records.own_athletes import learn_when_due
from overbar.records.tries import keep_learnt

FIRST_LOOK_S = 1.5
"""How long the first visitor waits for lines before a page says how many are still to come."""
AGAIN_S = 2.0
"""How often the board looks whether the records changed."""
REST = 4.0
"""It rests this many times as long as a round took: never more than a fifth of a core."""

ASK_S = 3600.0
"""How often the board looks whether a week has passed since the first logs were asked."""

log = logging.getLogger(__name__)


class _Stopped(Exception):
    """The desk ends."""


class Board:
    """Lines of the day, reckoned in the background and anew when the records change.

    A change made on the desk renews its athlete at once (:meth:`renew`); what another
    process writes is seen by the files of the database, or, on a database server,
    by time.

    Parameters
    ----------
    records : Records
    pictures : pathlib.Path
        Folder of stills and copies; those of erased films are thrown out.
    """

    def __init__(self, records: Records, pictures: Path) -> None:
        self.records = records
        self.pictures = pictures
        self._lines: dict[str, DayLine] = {}
        self._tries: dict[str, tuple[LoggedAttempt, ...]] = {}
        self._learnt: object = None
        self._lock = threading.Lock()
        self._filled = threading.Event()
        self._stop = threading.Event()
        self._thread: threading.Thread | None = None
        self._asking: threading.Thread | None = None

    @property
    def whole(self) -> bool:
        """Whether everybody's line is there."""
        return self._filled.is_set()

    def start(self) -> None:
        """Begin to keep the lines."""
        self._thread = threading.Thread(target=self._keep, name="board", daemon=True)
        self._thread.start()
        self._asking = threading.Thread(target=self._ask, name="own athletes", daemon=True)
        self._asking.start()

    def stop(self) -> None:
        """Stop keeping them."""
        self._stop.set()
        for thread in (self._thread, self._asking):
            if thread is not None:
                thread.join(timeout=10)

    def lines(self) -> tuple[tuple[DayLine, ...], bool]:
        """Return the lines there are, and whether that is everybody."""
        if self._thread is None:
            self.fill()
        whole = self._filled.wait(FIRST_LOOK_S)
        with self._lock:
            return tuple(self._lines.values()), whole

    def renew(self, athlete_id: str) -> None:
        """Reckon one athlete anew."""
        line = self._line(athlete_id, self.records.films(athlete_id))
        with self._lock:
            self._lines[athlete_id] = line

    def fill(self) -> None:
        """Reckon everybody anew, one after the other."""
        films: dict[str, list[FilmRow]] = {}
        for film in self.records.films():
            films.setdefault(film.athlete_id, []).append(film)
        there = [athlete.id for athlete in self.records.athletes()]
        for athlete_id in there:
            if self._stop.is_set():
                return
            line = self._line(athlete_id, films.get(athlete_id, []))
            with self._lock:
                self._lines[athlete_id] = line
        with self._lock:
            self._lines = {key: line for key, line in self._lines.items() if key in set(there)}
        kept = {film.sha256 for of_one in films.values() for film in of_one if film.deleted_on is None}
        throw_out(self.pictures, kept)
        self._filled.set()
        self._learn()

    def _learn(self) -> None:
        """Let everybody's tries move the body model's thresholds, when there is something new in them."""
        with self._lock:
            told = {key: self._tries[key] for key in sorted(self._lines) if self._tries.get(key)}
        if told != self._learnt:
            keep_learnt(self.records, (one for tries in told.values() for one in tries))
            self._learnt = told

    def _ask(self) -> None:
        """Once a week ask everybody's first logs what is believed of others beforehand."""
        since = time.monotonic()

        def go_on(share: float, doing: str) -> None:
            nonlocal since
            if self._stop.wait(REST * (time.monotonic() - since)):
                raise _Stopped
            since = time.monotonic()

        while not self._stop.is_set():
            if self._filled.is_set():
                since = time.monotonic()
                try:
                    learn_when_due(self.records, go_on)
                except _Stopped:
                    return
                except Exception:
                    log.exception("the first logs could not be asked")
            self._stop.wait(ASK_S if self._filled.is_set() else AGAIN_S)

    def _line(self, athlete_id: str, films: list[FilmRow]) -> DayLine:
        """Return an athlete's line; one that cannot be reckoned says so instead of vanishing."""
        try:
            proposal = propose(self.records, athlete_id)
            if proposal.history.attempts:
                self._tries[athlete_id] = body_tries(proposal.history, proposal.points)
            return line_of(proposal, films)
        except OverbarError as error:
            return broken_line(self.records.athlete(athlete_id), error.say(), self.records.today())
        except Exception as error:
            log.exception("no line for %s", athlete_id)
            return broken_line(self.records.athlete(athlete_id), repr(error), self.records.today())

    def _keep(self) -> None:
        seen: object = None
        while not self._stop.is_set():
            began = time.monotonic()
            mark = self._mark()
            if mark != seen:
                seen = mark
                try:
                    self.fill()
                except Exception:
                    log.exception("the day's lines could not be reckoned")
            self._stop.wait(max(AGAIN_S, REST * (time.monotonic() - began)))

    def _mark(self) -> object:
        """Return something that changes whenever the records or the day do."""
        url = self.records.engine.url
        day = self.records.today()
        if url.get_backend_name() != "sqlite" or not url.database:
            return (day, int(time.monotonic() // 30))
        marks = []
        for suffix in ("", "-wal"):
            try:
                status = (self.records.settings.records / (url.database + suffix)).stat()
                marks.append((status.st_mtime_ns, status.st_size))
            except OSError:
                marks.append((0, 0))
        return (day, *marks)
