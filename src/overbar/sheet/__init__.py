"""The sheet: the athlete's own page for today's session, made for a phone in a gym.

Comes in: the week the coach settled on, and what the athlete ticks between sets.
Goes out: one page that works without a network once it was opened, and the log
of the session back into the records.

Must not know: the coach's pages, other athletes, or how anything is computed.
"""

from __future__ import annotations
