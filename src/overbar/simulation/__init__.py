"""Simulation: invented athletes with a hidden truth, living under a ladder.

Comes in: how many athletes, a seed, a ladder. Goes out: how often the intervals held
the truth, and what the ladder did to the athletes (weeks to each gate, early and late
openings, largest load step, volume, pain rules, stalls).

Must not know: database, pages, clock, any real athlete.
"""
