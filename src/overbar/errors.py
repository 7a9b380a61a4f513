"""Errors a person can act on: what was wrong, where, and what to do."""

from __future__ import annotations


class OverbarError(Exception):
    """Base of every error this program raises on purpose.

    Parameters
    ----------
    what : str
        What was wrong, with the value.
    where : str, optional
        The file, line, row or column.
    do : str, optional
        What the reader can do about it.
    """

    exit_code = 2

    def __init__(self, what: str, where: str = "", do: str = "") -> None:
        self.what, self.where, self.do = what, where, do
        super().__init__(self.say())

    def say(self) -> str:
        """Return the whole error as one line of sentences."""
        head = f"{self.where}: {self.what}" if self.where else self.what
        if self.do and not head.endswith((".", "!", "?")):
            head += "."
        return f"{head} {self.do}".strip()


class BadInput(OverbarError):
    """A value, row, file or field that cannot be used as it is."""


class UnusableFilm(OverbarError):
    """A film nothing can be measured in.

    Parameters
    ----------
    problem : str
        Short stable id of the problem, for example ``no_person``.
    what, do : str
        The reason, and what the athlete can do, in words.
    """

    exit_code = 3

    def __init__(self, problem: str, what: str, do: str = "") -> None:
        self.problem = problem
        super().__init__(what, do=do)


class NotSetUp(OverbarError):
    """Something set-up makes is missing or damaged."""


class NotFound(OverbarError):
    """An athlete, film, verdict or file that is not there."""
