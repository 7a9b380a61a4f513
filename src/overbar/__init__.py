"""Overbar: from about five strict pull-ups to the first bar muscle-up, at a distance.

What an athlete logs and films goes in; next week's sessions, the one fault with
its cue and drill, the strength-or-technique answer and the forecast come out,
each with its reason and its uncertainty.

The rooms, from the shells down to the core (imports point only down):

``cli`` / ``desk`` / ``sheet`` / ``report``
    where people meet the program
``records``
    athletes, logs, films, plans, decisions: the database and the film store
``planning``
    history + ladder + strength + readings -> verdict -> next week's sessions
``film``
    film -> joints -> track -> motion -> phases -> reps, attempts, faults
``mechanics``
    body -> equations of motion -> muscle-up by optimal control -> margins
``strength``
    sets -> strength with interval -> trend -> forecast
``ladder``
    stages, gates, rules, exercises, drills, faults as data
``athlete``
    measures, anthropometry, units, kit, screening answers
"""

__version__ = "0.1.0"
