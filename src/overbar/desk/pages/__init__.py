"""The desk's addresses: HTTP in, pages out. What a page shows is reckoned in the files above.

Comes in: requests. Goes out: pages, fragments of pages, pictures and films.
Must not know: how anything is computed.
"""

from __future__ import annotations

from overbar.desk.pages import access, arrivals, athletes, body, films, ladder, outlook, today

ALL = (
    access.router,
    today.router,
    arrivals.router,
    athletes.router,
    body.router,
    outlook.router,
    films.router,
    ladder.router,
)
"""Every router; the order settles which of two matching addresses wins."""
