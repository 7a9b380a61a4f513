"""Who may speak to the desk: headers against foreign scripts, checks against foreign pages."""

from __future__ import annotations

import hmac
import secrets
from collections.abc import Awaitable, Callable
from pathlib import Path
from urllib.parse import urlsplit

from fastapi import HTTPException, Request
from itsdangerous import BadSignature, URLSafeSerializer
from starlette.responses import Response

from overbar.errors import BadInput

LOOPBACK = frozenset({"127.0.0.1", "localhost", "::1"})
SAFE_METHODS = frozenset({"GET", "HEAD", "OPTIONS"})
ACCESS_COOKIE = "overbar_access"

HEADERS = {
    "Content-Security-Policy": (
        "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data: blob:; "
        "media-src 'self' blob:; connect-src 'self'; font-src 'self'; manifest-src 'self'; "
        "worker-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
    ),
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "same-origin",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Permissions-Policy": "camera=(self), geolocation=(), microphone=()",
}
"""Sent with every answer: nothing but the desk's own files runs, and no page may frame it."""


def desk_key(folder: Path) -> str:
    """Return the secret the desk signs with, made once and kept readable by its owner only."""
    path = folder / "desk.key"
    if not path.exists():
        folder.mkdir(parents=True, exist_ok=True)
        path.touch(mode=0o600)
        path.write_text(secrets.token_urlsafe(32), encoding="utf-8")
    return path.read_text(encoding="utf-8")


class Guard:
    """The checks of one desk.

    Parameters
    ----------
    key : str
        Secret the form token and the access cookie are signed with.
    hosts : frozenset of str
        Host names the desk answers to (a foreign name pointing here is refused).
    access_token : str or None
        What a visitor must show when the desk is not on loopback.
    """

    def __init__(self, key: str, hosts: frozenset[str] = LOOPBACK, access_token: str | None = None) -> None:
        self.hosts = hosts
        self.access_token = access_token
        self._signer = URLSafeSerializer(key, salt="overbar-desk")
        self.form_token = str(self._signer.dumps("form"))

    def check_host(self, request: Request) -> None:
        """Refuse a host name that is not ours, so that no other site's name can lead here."""
        host = request.url.hostname or ""
        if "*" not in self.hosts and host not in self.hosts:
            raise HTTPException(400, f"This desk does not answer to the name {host!r}.")

    def check_same_origin(self, request: Request) -> None:
        """Refuse a change that another site's page asks for."""
        if request.method in SAFE_METHODS:
            return
        site = request.headers.get("sec-fetch-site")
        if site is not None and site not in ("same-origin", "none"):
            raise HTTPException(403, "A page of another site asked for this change; it was refused.")
        origin = request.headers.get("origin")
        if origin and urlsplit(origin).netloc != request.headers.get("host", ""):
            raise HTTPException(403, "A page of another site asked for this change; it was refused.")

    async def check_form_token(self, request: Request) -> None:
        """Refuse a change that does not carry the token the desk's own pages carry."""
        if request.method in SAFE_METHODS:
            return
        given = request.headers.get("x-form-token")
        if given is None:
            given = str((await request.form()).get("form_token") or "")
        if not hmac.compare_digest(given, self.form_token):
            raise HTTPException(
                403, "This page is older than the desk. Load it again, then repeat the change."
            )

    def knows(self, request: Request) -> bool:
        """Say whether the visitor may see the coach's pages."""
        if self.access_token is None:
            return True
        try:
            shown = self._signer.loads(request.cookies.get(ACCESS_COOKIE, ""))
        except BadSignature:
            return False
        return hmac.compare_digest(str(shown), self._seal())

    def admit(self, response: Response, shown: str) -> bool:
        """Set the access cookie when the token shown is right."""
        if self.access_token is None or not hmac.compare_digest(shown.strip(), self.access_token):
            return False
        response.set_cookie(
            ACCESS_COOKIE,
            str(self._signer.dumps(self._seal())),
            httponly=True,
            samesite="strict",
            max_age=30 * 24 * 3600,
        )
        return True

    def _seal(self) -> str:
        return hmac.new(str(self.access_token).encode(), b"overbar access", "sha256").hexdigest()


def guarded_host(host: str, access_token: str | None) -> frozenset[str]:
    """Return the names a desk served on ``host`` answers to.

    Raises
    ------
    BadInput
        A host other people can reach, without an access token of 16 characters or more.
    """
    if host in LOOPBACK:
        return LOOPBACK
    if not access_token:
        raise BadInput(
            f"the host {host} can be reached by other machines",
            "--host",
            "Give --access-token (16 characters or more) as well, or serve on 127.0.0.1.",
        )
    if len(access_token) < 16:
        raise BadInput(
            f"an access token of {len(access_token)} characters is too easy to guess",
            "--access-token",
            "Give 16 characters or more.",
        )
    return frozenset({"*"}) if host in ("0.0.0.0", "::") else LOOPBACK | {host}


async def with_headers(request: Request, call_next: Callable[[Request], Awaitable[Response]]) -> Response:
    """Add the protecting headers to an answer; pages of people's health are never cached."""
    response = await call_next(request)
    for name, value in HEADERS.items():
        response.headers.setdefault(name, value)
    if not request.url.path.startswith(("/static/", "/sheet/static/")):
        response.headers.setdefault("Cache-Control", "no-store")
    return response
