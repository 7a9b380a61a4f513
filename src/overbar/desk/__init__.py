"""The desk: the coach's pages, served on the coach's own machine.

Comes in: :class:`overbar.records.Records` and what the coach clicks, drags and
writes. Goes out: pages that say who needs the coach today and why, one athlete's
week with its reasons, one film with its numbers, and the coach's decisions back
into the records.

Files named after what a coach looks at (``today``, ``athlete``, ``film``, ...) hold
plain functions from values to what a page shows; ``pages/`` holds the addresses
and knows HTTP; ``guard`` keeps strangers and scripts out.

Must not know: how anything is computed (strength, rules, joints), or SQL.
"""
