"""Records: athletes, logs, films, readings, verdicts and the coach's overrules.

Comes in: values of the pure rooms, files of logs and films. Goes out: the same
values again, a :class:`~overbar.planning.history.History` per athlete.
Must not know: pages or the command line.
"""
