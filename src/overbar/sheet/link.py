"""The athlete's link: unguessable, the same every time, needs no account."""

from __future__ import annotations

from itsdangerous import BadSignature, URLSafeSerializer

from overbar.errors import NotFound


class Links:
    """Makes and reads links that name one athlete.

    Parameters
    ----------
    key : str
        Secret of this installation; a new key makes every old link worthless.
    """

    def __init__(self, key: str) -> None:
        self._signer = URLSafeSerializer(key, salt="overbar-sheet")

    def address(self, athlete_id: str) -> str:
        """Return the path of an athlete's sheet."""
        return f"/sheet/{self._signer.dumps(athlete_id)}"

    def athlete_id(self, link: str) -> str:
        """Return whose link it is.

        Raises
        ------
        NotFound
            The link was not made here.
        """
        try:
            return str(self._signer.loads(link))
        except BadSignature as error:
            raise NotFound("this link leads to no sheet", do="Ask your coach for your link.") from error
