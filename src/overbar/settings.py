"""Where things are kept on this machine; read once at the edge, passed inwards."""

from __future__ import annotations

import os
from dataclasses import dataclass
from pathlib import Path


@dataclass(frozen=True)
class Settings:
    """Folders and addresses of one installation.

    Attributes
    ----------
    records : pathlib.Path
        Folder of the coach's records (database and film store).
    cache : pathlib.Path
        Folder set-up writes the converted nets to.
    database : str or None
        SQLAlchemy URL; None means the SQLite file inside ``records``.
    films : str
        Folder or fsspec address of the film store, such as ``s3://bucket/films``; "" means
        the folder ``films`` inside ``records``.
    """

    records: Path
    cache: Path
    database: str | None = None
    films: str = ""


def read_settings(records: str | os.PathLike[str] | None = None, database: str | None = None) -> Settings:
    """Read the settings from arguments, then the environment, then the defaults.

    ``OVERBAR_RECORDS``, ``OVERBAR_DATABASE``, ``OVERBAR_FILMS`` and ``OVERBAR_CACHE``
    override the platform's own data and cache folders.
    """
    import platformdirs

    folder = records or os.environ.get("OVERBAR_RECORDS") or platformdirs.user_data_dir("overbar")
    cache = os.environ.get("OVERBAR_CACHE") or platformdirs.user_cache_dir("overbar")
    return Settings(
        records=Path(folder).expanduser(),
        cache=Path(cache).expanduser(),
        database=database or os.environ.get("OVERBAR_DATABASE") or None,
        films=os.environ.get("OVERBAR_FILMS", ""),
    )
