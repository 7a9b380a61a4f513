"""The demo: an invented coach with three invented athletes, sixteen weeks each.

Comes in: nothing but the data and films beside this file.
Goes out: fresh records, the same every time, that take 27 April 2026 for today.
Must not know: pages or the command line.

Gym, town, people and numbers are invented. The pull-up sets, heights and tries
were made by the rules of the ladder with a hidden strength model; the films show
an animated body.
"""

from overbar.demo.build import build_demo

__all__ = ["build_demo"]
