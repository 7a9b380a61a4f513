"""Records: athletes, logs, films, readings, verdicts and the coach's overrules.

Comes in: values of the pure rooms, files of logs and films. Goes out: the same
values again, a :class:`~overbar.planning.history.History` per athlete, and the
whole of it as a backup or one athlete's share as open formats.
Must not know: pages or the command line.

``open_records(settings)`` opens (and where needed makes or migrates) the
database and the film store and returns :class:`~overbar.records.store.Records`.
"""

from overbar.records.decisions import StoredWeek
from overbar.records.films import FilmConsent, FilmRow
from overbar.records.store import House, Records, open_records

__all__ = ["FilmConsent", "FilmRow", "House", "Records", "StoredWeek", "open_records"]
