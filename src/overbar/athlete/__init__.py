"""The athlete: measures, kit and screening answers.

Comes in: what a new athlete answers and measures.
Goes out: frozen values (:class:`~overbar.athlete.person.Athlete`,
:class:`~overbar.athlete.kit.Kit`, :class:`~overbar.athlete.screening.Screening`)
and what follows from them alone: body lengths from stature, the loads this kit
can make, what screening allows.

Must not know: any skill, exercise, log, film, database or clock.
"""
