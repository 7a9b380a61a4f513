"""Mechanics: what the muscle-up needs on this athlete's own body.

Comes in: stature, body mass, sex or own measured lengths, strength as R (the
one-repetition maximum's system mass over body mass), and, from a film, plain
arrays of joint positions. Goes out: the least R with which that body gets over
the bar, always with its band; the margin; what each lever buys; the best path as
a moving figure; the hand force of a filmed attempt.

The way inside: ``segments`` (published tables) -> ``dynamics`` (equations of
motion) -> ``strength_scale`` (joint torques scaled to the athlete's pull-up) ->
``muscle_up`` (the optimal control problem, written down by ``collocation``) ->
``surrogate`` (precomputed answers) -> ``margins`` (what-if) and ``from_film``.
``sweep`` solves what the table holds and keeps the movements as ``ways``, from which
``full_solve`` begins; ``table_check`` says how far the table is from it.

Must not know: films as files, readings, plans, the database, the web, the clock.
Body mass drops out when strength is measured in body masses and the proportions
are kept, so every solve is done for a body of one kilogram per kilogram.
"""
