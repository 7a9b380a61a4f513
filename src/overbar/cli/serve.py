"""`overbar serve`: the coach's desk and the athletes' sheets on this machine, films read beside them."""

from __future__ import annotations

import logging
import os
import sys
import threading
import time
from typing import TYPE_CHECKING, Annotated

import typer

if TYPE_CHECKING:
    from multiprocessing.process import BaseProcess

    from fastapi import FastAPI

    from overbar.records import Records
    from overbar.settings import Settings

log = logging.getLogger(__name__)

LOOK_S = 0.5
"""How often it is looked whether the worker still lives, s."""
STEADY_S = 60.0
"""A worker that lived so long was in order; no pause before the next is longer, s."""
GRACE_S = 2
"""How long open answers may take when the desk is stopped."""


def serve(
    records: Annotated[str, typer.Option(help="Folder of the records.")] = "",
    database: Annotated[str, typer.Option(help="Database address instead of the file in the folder.")] = "",
    port: Annotated[int, typer.Option(help="Port to serve on.", min=1, max=65535)] = 8765,
    host: Annotated[
        str, typer.Option(help="Address to serve on; one that other machines reach needs a token.")
    ] = "127.0.0.1",
    access_token: Annotated[
        str,
        typer.Option(help="What visitors of the desk must show.", envvar="OVERBAR_ACCESS_TOKEN"),
    ] = "",
) -> None:
    """Open the desk: who needs you today, each athlete's week, each film."""
    from overbar.settings import read_settings

    open_desk(read_settings(records or None, database or None), host, port, access_token or None)


def open_desk(
    settings: Settings, host: str = "127.0.0.1", port: int = 8765, access_token: str | None = None
) -> None:
    """Serve the desk and the sheets until stopped.

    Films are read in a process of their own, so that the pages stay usable; when
    that process is ended in the middle of a film, the next one starts it again.

    Raises
    ------
    BadInput
        The host can be reached by others and no good token was given.
    """
    import uvicorn

    from overbar.desk.guard import guarded_host
    from overbar.records import open_records

    hosts = guarded_host(host, access_token)
    records = open_records(settings)
    stop = threading.Event()
    keeper = threading.Thread(target=keep_worker, args=(settings, records, stop), name="worker keeper")
    keeper.start()
    name = f"[{host}]" if ":" in host else host
    print(f"The desk is open at http://{name}:{port}/ (Ctrl-C stops it).", file=sys.stderr)
    try:
        uvicorn.run(
            desk_and_sheets(records, hosts, access_token),
            host=host,
            port=port,
            log_level="warning",
            server_header=False,
            timeout_graceful_shutdown=GRACE_S,
        )
    finally:
        stop.set()
        keeper.join(timeout=15)
        records.close()


def desk_and_sheets(
    records: Records, hosts: frozenset[str] | None = None, access_token: str | None = None
) -> FastAPI:
    """Return the desk with the athletes' sheets beside it."""
    from overbar.desk.app import create_app
    from overbar.desk.guard import LOOPBACK, desk_key
    from overbar.sheet.link import Links
    from overbar.sheet.pages import sheet_router

    links = Links(desk_key(records.settings.records))
    app = create_app(records, hosts or LOOPBACK, access_token, sheet_address=links.address)
    app.include_router(sheet_router(records, links, app.state.desk.arrivals))
    return app


def keep_worker(settings: Settings, records: Records, stop: threading.Event) -> None:
    """Keep a process that reads the waiting films, and start another when it was killed.

    What a dead worker had in hand is free again at once. One that ends soon after it
    began is started again after a pause that doubles each time.
    """
    from overbar.records.work import is_dead

    pause = LOOK_S
    while not stop.is_set():
        records.let_go_of(is_dead)
        process, began = start_worker(settings), time.monotonic()
        while process.is_alive() and not stop.wait(LOOK_S):
            pass
        if stop.is_set():
            process.terminate()
            process.join(timeout=10)
            return
        process.join()
        log.warning("the film worker ended with code %s and is started again", process.exitcode)
        pause = LOOK_S if time.monotonic() - began > STEADY_S else min(2 * pause, STEADY_S)
        stop.wait(pause)


def start_worker(settings: Settings) -> BaseProcess:
    """Start the process that reads the waiting films."""
    from multiprocessing import get_context

    process = get_context("spawn").Process(target=_work_beside, args=(settings,), daemon=True)
    process.start()
    return process


def _work_beside(settings: Settings) -> None:
    """Work until the desk is gone, however it went."""
    from multiprocessing import parent_process

    from overbar.records.work import work

    def end_with(desk: BaseProcess) -> None:
        desk.join()
        os._exit(1)

    desk = parent_process()
    if desk is not None:
        threading.Thread(target=end_with, args=(desk,), daemon=True).start()
    work(settings)
