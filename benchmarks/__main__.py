"""Run every benchmark, or those named: ``python -m benchmarks [SUBJECT ...]``."""

from __future__ import annotations

import platform
import runpy
import sys
from pathlib import Path


def main(subjects: list[str]) -> int:
    """Run the benchmarks; an unknown subject ends with the list of known ones."""
    known = sorted(path.stem.removeprefix("bench_") for path in Path(__file__).parent.glob("bench_*.py"))
    unknown = [subject for subject in subjects if subject not in known]
    if unknown:
        print(f"No benchmark called {', '.join(unknown)}. There are: {', '.join(known)}.", file=sys.stderr)
        return 2
    print(f"Python {platform.python_version()}, {platform.machine()}, {platform.system()}")
    for subject in subjects or known:
        print(f"\n== {subject} ==", flush=True)
        runpy.run_module(f"benchmarks.bench_{subject}", run_name="__main__")
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
